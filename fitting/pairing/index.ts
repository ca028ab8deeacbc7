/** Which cells go together: costs, matching and its certificate. What other folders may use. */

export { alternativePartners } from './alternatives.ts';
export { bootstrapOf, countChosen } from './bootstrapPairs.ts';
export { type GateVerdict, judgeCells } from './cellGates.ts';
export { comparePairings } from './comparison.ts';
export { type CellOfPair, groupConsequences } from './consequences.ts';
export { bestExchanges, type PairExchange } from './exchanges.ts';
export { FeatureCosts } from './featureCosts.ts';
export { FeatureSource } from './featureSource.ts';
export { type LotFeature, medianOf, robustStandardDeviation } from './lotFeature.ts';
export { nearestMiss } from './nearestMiss.ts';
export { type PairedLot, pairLot, partnersOf } from './pairLot.ts';
export { matchBest, pairsOf } from './provenMatching.ts';
export { groupStacks } from './stackGroups.ts';
export { toleranceChart } from './toleranceChart.ts';
export { selfDischargeSigns } from './warningSigns.ts';
export {
  differenceUncertainty,
  probabilityAllWithin,
  probabilityWithinTolerance,
} from './withinTolerance.ts';
