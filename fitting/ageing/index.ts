/** Fade and resistance rise: laws, their fits, forecasts and what cells under different conditions show. What other folders may use. */

export { benchRestarts } from './benchRestarts.ts';
export { cleanSeries } from './cleanSeries.ts';
export { awayFromLot, interpolate, pairDrift } from './drift.ts';
export { type Fan, fanOf } from './fan.ts';
export { fitAgeingModels, type ModelCandidate, type ModelComparison, residualsOf } from './fitModels.ts';
export { type Forecast, type ForecastOptions, forecastLimit, reachedBy } from './forecast.ts';
export { type GrowthAgainstLoss, growthAgainstLoss } from './growthAgainstLoss.ts';
export { type Knee, kneeOf } from './knee.ts';
export { LawFit, varianceInflation } from './lawFit.ts';
export { throughputAtCycles } from './lifeAxis.ts';
export {
  crossedBetween,
  DEFAULT_STAYS,
  type LimitCrossing,
  limitCrossing,
  type StaysRule,
} from './limitCrossing.ts';
export { lineCrossing } from './lineCrossing.ts';
export { type FinishedCell, LEAST_FINISHED, type LotCell } from './lotForecast.ts';
export { parameterIntervals } from './parameterIntervals.ts';
export { ageingPoints } from './points.ts';
export { averageRepeats, carriedOver, type PreparedSeries, prepareSeries } from './prepareSeries.ts';
export { profileCrossing } from './profileCrossing.ts';
export { schmalstiegAgeing, wangLoss } from './publishedLaws.ts';
export {
  arrheniusTerm,
  lifeFactor,
  powerMeanRateC,
  type StressRegression,
  stressRegression,
} from './stressRegression.ts';
