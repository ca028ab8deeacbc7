import { z } from 'zod';
import { featureQuantity, pairOfCells, referenceCondition } from './pairingCriteria.ts';

/** A feature as it was used: percentages resolved against the median of the cells in the run. */
export const usedFeature = z.object({
  name: z.string(),
  quantity: featureQuantity,
  unit: z.string(),
  column: z.string().nullable(),
  condition: referenceCondition.nullable(),
  median: z.number(),
  robustStandardDeviation: z.number().nullable(),
  tolerance: z.number(),
  importance: z.number(),
  pairLimit: z.number().nullable(),
  cellMinimum: z.number().nullable(),
  cellMaximum: z.number().nullable(),
});
export type UsedFeature = z.infer<typeof usedFeature>;

/** One value of a cell in the feature's unit; the uncertainty is null where nobody stated one. */
export const cellFeatureValue = z.object({
  feature: z.string(),
  value: z.number().nullable(),
  standardUncertainty: z.number().nullable(),
});

export const pairingCell = z.object({ cell: z.string(), values: z.array(cellFeatureValue) });
export type PairingCell = z.infer<typeof pairingCell>;

export const pairDifference = z.object({
  feature: z.string(),
  unit: z.string(),
  /** Second cell minus first; of more than two cells, the largest value minus the smallest. */
  difference: z.number(),
  /** Size of the difference in tolerances. */
  inTolerances: z.number(),
  /** Its part of the pair's cost; of more than two cells, over every two of them. */
  cost: z.number(),
  /** Of the difference between these two cells. */
  standardUncertainty: z.number().nullable(),
  /** Probability that no two cells truly differ by more than the tolerance; null where no uncertainty is known. */
  probabilityWithinTolerance: z.number().nullable(),
});
export type PairDifference = z.infer<typeof pairDifference>;

/**
 * What the pair will do in the device; of more than two cells, differences and spreads are the largest between any two.
 * null: a feature or a figure of the planned use is missing.
 */
export const pairConsequences = z.object({
  usableCapacityAh: z.number().nullable(),
  /** Mean capacity of the cells minus usable capacity. */
  capacityLossAh: z.number().nullable(),
  capacityLossPercent: z.number().nullable(),
  /** The cell that meets its upper voltage limit first at the planned current; null where they cannot be distinguished. */
  limitsCharge: z.string().nullable(),
  /** The cell that is empty first. */
  limitsDischarge: z.string().nullable(),
  /** Second cell minus first, at the planned charge current and equal SOC. */
  voltageDifferenceV: z.number().nullable(),
  bypassChargePerCycleAh: z.number().nullable(),
  socDriftPerMonth: z.number().nullable(),
  capacitySpreadAfterCyclesAh: z.number().nullable(),
  resistanceSpreadAfterCyclesOhm: z.number().nullable(),
});
export type PairConsequences = z.infer<typeof pairConsequences>;

/** The best exchange of partners with one other pair, and whether the measurement can tell it from the chosen one. */
export const pairExchange = z.object({
  withPair: pairOfCells,
  /** The two pairs that would be instead. */
  instead: z.tuple([pairOfCells, pairOfCells]),
  costIncrease: z.number(),
  standardUncertainty: z.number().nullable(),
});

/** A pair, or a group of more cells in series, of which every two must be acceptable. */
export const proposedPair = z.object({
  cells: z.array(z.string().min(1)).min(2),
  /** Σ importance × (difference / tolerance)², over every two cells. */
  cost: z.number(),
  /** True where a lock demanded this pair. */
  locked: z.boolean(),
  differences: z.array(pairDifference),
  /** Probability that every true difference is within its tolerance; null where an uncertainty is unknown. */
  probabilityWithinTolerance: z.number().nullable(),
  /** null: there is none, or there are more than two cells, where exchanges are part of the search itself. */
  nextBestExchange: pairExchange.nullable(),
  /** True: the measurement cannot tell this pair from its next best exchange. null: no uncertainty or no exchange. */
  indistinguishable: z.boolean().nullable(),
  /** Share of the pairings under re-drawn measurements in which this pair was chosen. */
  bootstrapFrequency: z.number().nullable(),
  consequences: pairConsequences,
});
export type ProposedPair = z.infer<typeof proposedPair>;
