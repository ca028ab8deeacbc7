import { z } from 'zod';
import { generalCautions } from './cautions.ts';
import { pairingCriteria } from './pairingCriteria.ts';
import { pairingCell, proposedPair, usedFeature } from './pairingProposal.ts';

export const unpairedReasons = [
  'held-back',
  'warning-sign',
  'missing-value',
  'implausible-value',
  'outside-cell-limit',
  'outlier',
  'no-acceptable-partner',
  'acceptable-partners-used',
  'odd-count',
  'outside-full-groups',
] as const;
export const unpairedReason = z.enum(unpairedReasons);
export type UnpairedReason = z.infer<typeof unpairedReason>;

export const exceededLimit = z.object({
  /** null: the pair is kept apart by a lock, not by a limit. */
  feature: z.string().nullable(),
  difference: z.number().nullable(),
  limit: z.number().nullable(),
});

export const unpairedCell = z.object({
  cell: z.string(),
  reason: unpairedReason,
  /** Which feature decided, where one did. */
  feature: z.string().nullable(),
  /** The value that decided, in the feature's unit, or the text of the warning sign. */
  value: z.union([z.number(), z.string()]).nullable(),
  limit: z.number().nullable(),
  /** The partner at least cost among the cells that were offered, and what forbids it. */
  nearestMiss: z.object({ cell: z.string(), cost: z.number(), exceeded: z.array(exceededLimit) }).nullable(),
});
export type UnpairedCell = z.infer<typeof unpairedCell>;

export const pairingCertificate = z.object({
  /** No pairing with as many pairs (or groups) can cost less (for the worst-pair objective: among those no worse at worst). */
  lowerBound: z.number().nullable(),
  /** True only after a separate pass over all acceptable pairs confirmed the dual solution and the two totals met. */
  proven: z.boolean(),
  /** Costs were rounded to whole multiples of this; the proof is exact for the rounded costs. */
  costResolution: z.number().nullable(),
  /** Acceptable pairs looked at by the checking pass. */
  checkedPairs: z.number().int(),
  /** Most pairs possible, as proven. */
  mostPairs: z.number().int().nullable(),
  /** Proven least possible cost of the worst pair; only for that objective. */
  worstCostLowerBound: z.number().nullable(),
  reason: z.enum(['confirmed', 'heuristic', 'nothing-to-pair', 'not-confirmed']),
});
export type PairingCertificate = z.infer<typeof pairingCertificate>;

/** One way of pairing the same lot. Random pairing gives the mean and the 95th percentile over many. */
export const comparedPairing = z.object({
  method: z.enum(['optimum', 'random-mean', 'random-p95', 'sorted-neighbours', 'greedy']),
  /** The feature that was sorted by. */
  feature: z.string().nullable(),
  pairs: z.number(),
  totalCost: z.number(),
  /** Pairs of it that break a hard limit. */
  outsideLimits: z.number(),
  meanCapacityLossAh: z.number().nullable(),
  meanResistanceDifferenceOhm: z.number().nullable(),
  meanVoltageDifferenceV: z.number().nullable(),
});
export type ComparedPairing = z.infer<typeof comparedPairing>;

export const alternativePartner = z.object({
  cell: z.string(),
  /** Cost of that pair alone. */
  cost: z.number(),
  /** At least this much more in total if that pair is demanded, from the dual solution. */
  totalIncreaseAtLeast: z.number().nullable(),
  /** Exactly how much more in total; null where the lot is too large to work it out for every cell. */
  totalIncrease: z.number().nullable(),
  /** Pairs fewer if that pair is demanded; the increase is then not comparable. */
  pairsLost: z.number().int().nullable(),
});
export const cellAlternatives = z.object({ cell: z.string(), partners: z.array(alternativePartner) });

/** What all pair limits (where a feature has none: its tolerance) multiplied by one factor would give. */
export const toleranceStep = z.object({
  factor: z.number(),
  pairs: z.number().int(),
  totalCost: z.number(),
  worstCost: z.number().nullable(),
});

export const pairingWarning = z.object({
  code: z.enum([
    'feature-without-uncertainty',
    'few-cells',
    'all-costs-zero',
    'lock-outside-limits',
    'differences-below-uncertainty',
    'no-condition-stated',
    'robust-spread-zero',
    'outliers-offered',
    'unit-assumed',
    'reduced-to-temperature',
    'not-at-stated-temperature',
    'unlike-currents',
    'main-quantity-missing',
    'signs-ignored',
    'implausible-value',
    'columns-not-used',
  ]),
  feature: z.string().nullable(),
  cells: z.array(z.string()),
  /** What else belongs to it: the quantity taken instead, the signs ignored, the columns not used. */
  detail: z.string().optional(),
});
export type PairingWarning = z.infer<typeof pairingWarning>;

/** Cautions that go with every proposal of cells to be put in series. */
export const pairingCaution = z.enum(generalCautions);

/** Result of `gemel pair` and of a stored pairing run. */
export const pairingResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.string(), version: z.number().int() }),
  criteria: pairingCriteria,
  features: z.array(usedFeature),
  /** Every cell of the run with the values it was judged by, in the order given. */
  cells: z.array(pairingCell),
  pairs: z.array(proposedPair),
  unpaired: z.array(unpairedCell),
  totalCost: z.number(),
  worstCost: z.number().nullable(),
  certificate: pairingCertificate,
  bootstrap: z.object({ runs: z.number().int(), meanPairsKept: z.number().nullable() }).nullable(),
  comparison: z.array(comparedPairing),
  alternatives: z.array(cellAlternatives),
  toleranceChart: z.array(toleranceStep),
  /** What must be minded with every pair, as codes; pages and commands word them. */
  cautions: z.array(pairingCaution),
  warnings: z.array(pairingWarning),
});
export type PairingResult = z.infer<typeof pairingResult>;
