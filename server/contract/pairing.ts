import { z } from 'zod';

/** What a matching feature measures. It decides the unit and which consequences can be computed from it. */
export const featureQuantities = [
  'capacity',
  'resistance',
  'ohmic-resistance',
  'impedance-1khz',
  'open-circuit-voltage',
  'self-discharge',
  'capacity-fade',
  'resistance-rise',
  'mass',
  'other',
] as const;
export const featureQuantity = z.enum(featureQuantities);
export type FeatureQuantity = z.infer<typeof featureQuantity>;

/** The unit (UCUM code) in which a quantity is held everywhere: values, tolerances, limits and differences alike. */
export const unitOfQuantity: Readonly<Record<FeatureQuantity, string>> = {
  capacity: 'A.h',
  resistance: 'Ohm',
  'ohmic-resistance': 'Ohm',
  'impedance-1khz': 'Ohm',
  'open-circuit-voltage': 'V',
  'self-discharge': 'V/d',
  'capacity-fade': 'A.h/{cycle}',
  'resistance-rise': 'Ohm/{cycle}',
  mass: 'g',
  other: '1',
};

/** A tolerance or limit: in the feature's unit, or in percent of the median of the cells in the run. */
export const amount = z.strictObject({
  kind: z.enum(['absolute', 'percent']),
  value: z.number().positive('must be above zero'),
});
export type Amount = z.infer<typeof amount>;

/**
 * The one reference condition at which a feature was measured on every cell; null where it does not apply. Where it states
 * a temperature, resistances of stored cells are carried to it by the law of their cell type, if that covers them.
 */
export const referenceCondition = z.strictObject({
  durationS: z.number().positive().nullable().default(null),
  soc: z.number().min(0).max(1).nullable().default(null),
  temperatureC: z.number().min(-100).max(150).nullable().default(null),
  direction: z.enum(['charge', 'discharge']).nullable().default(null),
});

export const criterionFeature = z.strictObject({
  /** Short name, unique in the document. */
  name: z.string().min(1).max(80),
  quantity: featureQuantity,
  /** Column of a cell table that holds it; null: the column is found by the quantity and the duration. */
  column: z.string().min(1).nullable().default(null),
  /** Column that holds its standard uncertainty; null: `<column>` with `standard_uncertainty` in it, if there. */
  uncertaintyColumn: z.string().min(1).nullable().default(null),
  condition: referenceCondition.nullable().default(null),
  tolerance: amount,
  /** Weight of the squared difference in the cost. 0: only shown and limited, never optimised. */
  importance: z.number().min(0).max(1e6).default(1),
  /** Hard limit on the difference within a pair; null: none. */
  pairLimit: amount.nullable().default(null),
  /** Hard limits on the value of a single cell, in the feature's unit; null: none. */
  cellMinimum: z.number().nullable().default(null),
  cellMaximum: z.number().nullable().default(null),
  /** Standard uncertainty for cells that state none of their own; null: unknown. */
  standardUncertainty: amount.nullable().default(null),
});
export type CriterionFeature = z.infer<typeof criterionFeature>;

const pairOfCells = z.tuple([z.string().min(1), z.string().min(1)]);

/** What must hold whatever it costs. */
export const pairingLocks = z.strictObject({
  /** Pairs that must be. */
  together: z.array(pairOfCells).default([]),
  /** Pairs that must not be. */
  apart: z.array(pairOfCells).default([]),
  /** Cells that are not to be paired in this run. */
  heldBack: z.array(z.string().min(1)).default([]),
});

/** How the stack will be used; the consequences of a pair are worked out for it. null: left out of the consequences. */
export const plannedUse = z.strictObject({
  /** Charge current through the stack, positive. */
  chargeCurrentA: z.number().positive().nullable().default(null),
  /** State of charge at which the two cells are brought level when the stack is built. */
  levelledAtSoc: z.number().min(0).max(1).default(1),
  /** Days from one full charge to the next. */
  daysPerCycle: z.number().positive().default(1),
  /** Slope of the open-circuit voltage against SOC at storage, V per unit of SOC; turns drift into charge. */
  openCircuitSlopeV: z.number().positive().nullable().default(null),
  /** Cycles after which the spread is forecast. */
  cycles: z.number().int().positive().nullable().default(null),
});
export type PlannedUse = z.infer<typeof plannedUse>;

export const pairingObjective = z.enum(['least-total', 'least-worst-then-total']);

/**
 * The criteria of one pairing run: a small document that is stored with the run. The cost of a pair is
 * Σ importance × (difference / tolerance)². As many acceptable pairs as possible come first, the objective after.
 */
export const pairingCriteria = z
  .strictObject({
    schemaVersion: z.literal(1).default(1),
    name: z.string().min(1).max(120).default('capacity and resistance'),
    /** Counted up by whoever changes the document. */
    version: z.number().int().positive().default(1),
    features: z.array(criterionFeature).min(1, 'at least one feature is needed').max(12),
    objective: pairingObjective.default('least-total'),
    missingValues: z.enum(['leave-out', 'refuse']).default('leave-out'),
    /** Cells further from the lot's median than this many robust standard deviations are left out; null: no such gate. */
    outlierLimit: z.number().min(2).nullable().default(null),
    locks: pairingLocks.prefault({}),
    use: plannedUse.prefault({}),
    /** Cells in series in one stack. Above 2 a heuristic is used, which is never called proven. */
    cellsPerStack: z.number().int().min(2).max(16).default(2),
    /** Repetitions of the pairing under re-drawn measurements; 0: none. null: chosen by the size of the lot. */
    bootstrapRuns: z.number().int().min(0).max(2000).nullable().default(null),
    /** Random pairings to compare with; 0: none. */
    randomPairings: z.number().int().min(0).max(10_000).default(1000),
    randomSeed: z.number().int().min(0).max(0xffffffff).default(1),
  })
  .superRefine((criteria, context) => {
    const names = new Set<string>();
    criteria.features.forEach((feature, index) => {
      const at = ['features', index];
      if (names.has(feature.name))
        context.addIssue({
          code: 'custom',
          path: [...at, 'name'],
          message: `two features are named "${feature.name}"`,
        });
      names.add(feature.name);
      const { cellMinimum: low, cellMaximum: high } = feature;
      if (low !== null && high !== null && low > high)
        context.addIssue({
          code: 'custom',
          path: [...at, 'cellMinimum'],
          message: `${low} is above cellMaximum ${high}`,
        });
    });
    if (criteria.features.every((feature) => feature.importance === 0))
      context.addIssue({
        code: 'custom',
        path: ['features'],
        message: 'at least one feature needs an importance above zero',
      });
  });
export type PairingCriteria = z.infer<typeof pairingCriteria>;
/** The document as a person writes it: everything with a default may be left out. */
export type PairingCriteriaInput = z.input<typeof pairingCriteria>;

/** What a stack is mainly for, and the quantities that serve it with their importance. */
export const pairingPurposes = {
  'fast-charging': [
    { quantity: 'resistance', importance: 2 },
    { quantity: 'capacity', importance: 1 },
  ],
  'run-time': [{ quantity: 'capacity', importance: 1 }],
  'long-storage': [
    { quantity: 'self-discharge', importance: 2 },
    { quantity: 'capacity', importance: 1 },
  ],
  'all-round': [
    { quantity: 'capacity', importance: 1 },
    { quantity: 'resistance', importance: 1 },
  ],
} as const satisfies Record<string, readonly { quantity: FeatureQuantity; importance: number }[]>;
export type PairingPurpose = keyof typeof pairingPurposes;

// ---------------------------------------------------------------------------------------------------------------

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
  /** Second cell minus first. */
  difference: z.number(),
  /** Size of the difference in tolerances. */
  inTolerances: z.number(),
  /** Its part of the pair's cost. */
  cost: z.number(),
  standardUncertainty: z.number().nullable(),
  /** Probability that the true difference is within the tolerance; null where no uncertainty is known. */
  probabilityWithinTolerance: z.number().nullable(),
});
export type PairDifference = z.infer<typeof pairDifference>;

/** What the pair will do in the device. null: a feature or a figure of the planned use is missing. */
export const pairConsequences = z.object({
  usableCapacityAh: z.number().nullable(),
  /** Mean capacity of the two minus usable capacity. */
  capacityLossAh: z.number().nullable(),
  capacityLossPercent: z.number().nullable(),
  /** The cell that meets its upper voltage limit first at the planned current; null where they cannot be told apart. */
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

export const proposedPair = z.object({
  cells: pairOfCells,
  cost: z.number(),
  /** True where a lock demanded this pair. */
  locked: z.boolean(),
  differences: z.array(pairDifference),
  /** Probability that every true difference is within its tolerance; null where an uncertainty is unknown. */
  probabilityWithinTolerance: z.number().nullable(),
  nextBestExchange: pairExchange.nullable(),
  /** True: the measurement cannot tell this pair from its next best exchange. null: no uncertainty or no exchange. */
  indistinguishable: z.boolean().nullable(),
  /** Share of the pairings under re-drawn measurements in which this pair was chosen. */
  bootstrapFrequency: z.number().nullable(),
  consequences: pairConsequences,
});
export type ProposedPair = z.infer<typeof proposedPair>;

export const unpairedReasons = [
  'held-back',
  'warning-sign',
  'missing-value',
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
  /** No pairing with as many pairs can cost less (for the worst-pair objective: among those no worse at worst). */
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

export const stackGroup = z.object({
  cells: z.array(z.string()),
  cost: z.number(),
  usableCapacityAh: z.number().nullable(),
  capacityLossAh: z.number().nullable(),
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
  ]),
  feature: z.string().nullable(),
  cells: z.array(z.string()),
});
export type PairingWarning = z.infer<typeof pairingWarning>;

/** Result of `gemel pair` and of a stored pairing run. */
/** Cautions that go with every proposal of cells to be put in series. */
export const pairingCaution = z.enum([
  'watch-each-cell',
  'datasheet-outranks',
  'not-unattended',
  'qualified-person-decides',
]);

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
  /** Stacks of three or more; null for pairs. The gap is (totalCost − lowerBound) / totalCost. */
  groups: z
    .object({
      stacks: z.array(stackGroup),
      totalCost: z.number(),
      lowerBound: z.number(),
      gap: z.number().nullable(),
    })
    .nullable(),
  /** What must be minded with every pair, as codes; pages and commands word them. */
  cautions: z.array(pairingCaution),
  warnings: z.array(pairingWarning),
});
export type PairingResult = z.infer<typeof pairingResult>;
