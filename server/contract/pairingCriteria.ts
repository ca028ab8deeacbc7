import { z } from 'zod';
import type { QuantityName } from './measurements.ts';

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
  'thickness',
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
  thickness: 'mm',
  other: '1',
};

/** A tolerance or limit: in the feature's unit, or in percent of the median of the cells in the run. */
export const amount = z.strictObject({
  kind: z.enum(['absolute', 'percent']),
  value: z.number().positive('must be above zero'),
});
export type Amount = z.infer<typeof amount>;

/** Measured quantities that serve as a feature, the usual one first; for lots and for tables alike. */
export const quantitiesOfFeature: Readonly<Record<FeatureQuantity, readonly QuantityName[]>> = {
  capacity: ['capacity', 'charge-capacity'],
  resistance: ['resistance', 'rdc'],
  'ohmic-resistance': ['r0'],
  'impedance-1khz': ['impedance-1khz'],
  'open-circuit-voltage': ['ocv'],
  'self-discharge': ['drift'],
  'capacity-fade': ['fade-rate'],
  'resistance-rise': ['resistance-rise-rate'],
  mass: ['mass'],
  thickness: ['thickness'],
  other: [],
};

/**
 * Signs that keep a cell out of every pairing, whatever it is for. A run that is to pair such cells all the same lists the
 * code in `signsIgnored`, which stays in its report.
 */
export const warningSignCodes = [
  'deep-discharge',
  'voltage-drift',
  'low-ocv',
  'damage-noted',
  'stack-drift',
] as const;
export const warningSignCode = z.enum(warningSignCodes);
export type WarningSignCode = z.infer<typeof warningSignCode>;

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

export const pairOfCells = z.tuple([z.string().min(1), z.string().min(1)]);

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
export const pairingPurpose = z.enum(Object.keys(pairingPurposes) as [PairingPurpose, ...PairingPurpose[]]);
export type PairingPurpose = keyof typeof pairingPurposes;

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
    /**
     * Cells further from the lot's median than this many robust standard deviations (more in a small lot) are left out,
     * by the features and by every usual quantity that is measured besides; null: no such gate.
     */
    outlierLimit: z.number().min(2).nullable().default(3.5),
    /** Warning signs that do not keep a cell out of this run. */
    signsIgnored: z.array(warningSignCode).max(warningSignCodes.length).default([]),
    /** What the stacks are for, where the features were chosen for it. */
    purpose: pairingPurpose.nullable().default(null),
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
