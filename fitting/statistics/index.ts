/** Distributions, robust estimates, tolerance limits, gauge studies and random numbers. What other folders may use. */

export { ANDERSON_DARLING_CRITICAL_05, andersonDarling } from './andersonDarling.ts';
export { capability } from './capability.ts';
export { individualsChart } from './controlChart.ts';
export {
  chiSquareQuantile,
  fQuantile,
  normalDensity,
  normalProbability,
  normalQuantile,
  tQuantile,
} from './distributions.ts';
export { type GaugeReadings, gaugeByRange, gaugeByVariance } from './gaugeStudy.ts';
export { grubbsTest } from './grubbs.ts';
export { histogram } from './histogram.ts';
export { normalPlot } from './normalPlot.ts';
export { usualRange } from './outliers.ts';
export { normalSource, type RandomSource, seededRandom } from './random.ts';
export { pooledRepeatability } from './repeatability.ts';
export { madScale, median } from './robust.ts';
export { mean, quantileSorted, standardDeviation } from './sample.ts';
export {
  coverageOfExtremes,
  normalToleranceLimits,
  orderToleranceLimits,
  toleranceRank,
} from './toleranceLimits.ts';
