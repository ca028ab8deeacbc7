import { z } from 'zod';
import {
  ageingCell,
  ageingFlag,
  ageingLimit,
  ageingWarning,
  growthAgainstLoss,
  pairDrift,
  stressDependence,
} from './ageingResult.ts';
import { ageingAxis, ageingModelName, ageingQuantityName } from './ageingTrack.ts';
import { id } from './common.ts';
import { publishedLawRequest } from './publishedLaws.ts';
import { fitHead } from './tests.ts';

const numberOrNull = z.number().nullable();

/** What an assessment of stored cells is asked with; everything has a default. */
export const ageingSettings = z
  .object({
    quantity: ageingQuantityName.default('capacity'),
    axis: ageingAxis.default('cycle'),
    /** As people write them: `80%-of-rated`, `80%-of-first`, `0.88Ah`, `200%`, `0.05ohm`. Default: both usual ones. */
    endOfLife: z.array(z.string().max(40)).max(8).optional(),
    level: z.number().gt(0).lt(1).default(0.8),
    refusedBeyondRatio: z.number().gt(1).max(100).default(4),
    staysFor: z
      .object({ k: z.int().min(1).max(50), n: z.int().min(1).max(50) })
      .refine(({ k, n }) => k <= n, 'k must not exceed n')
      .default({ k: 4, n: 5 }),
    lotPrior: z.boolean().default(true),
    /** Relative difference the two cells of a stack may have. */
    pairTolerance: z.number().gt(0).lt(1).default(0.02),
    /** Reduces resistances to the reference temperature of the cell type by an Arrhenius law. */
    activationEnergyJPerMol: z.number().min(0).max(200_000).nullable().default(null),
    /** An age, on the axis, for which the probability is wanted that a limit is reached by then. */
    reachedBy: z.number().gt(0).optional(),
    /** Published laws to be drawn beside the series. */
    publishedLaws: z.array(publishedLawRequest).max(4).default([]),
    /** Stress of the cells, to regress life on: terms with a unit, and their values for each cell. */
    stress: z
      .object({
        terms: z
          .array(z.object({ name: z.string().min(1).max(80), unit: z.string().max(20) }))
          .min(1)
          .max(6),
        cells: z.array(z.object({ cellId: id, values: z.array(z.number()) })).max(5000),
      })
      .nullable()
      .default(null),
  })
  .strict();

/** Which measurements became the resistance series: one quantity at one condition. */
export const ageingCondition = z.object({
  quantity: z.string(),
  durationS: numberOrNull,
  direction: z.enum(['charge', 'discharge']).nullable(),
  soc: numberOrNull,
  reducedToC: numberOrNull,
});

/** The stored assessment of one cell. */
export const storedCellAgeing = z.object({
  schemaVersion: z.literal(1),
  axis: ageingAxis,
  ratedCapacityAh: numberOrNull,
  lotId: id,
  resistanceCondition: ageingCondition.nullable(),
  cell: ageingCell,
});

/** The assessment of one cell as it is read. */
export const cellAgeing = z.object({
  cellId: id,
  serial: z.string(),
  fit: fitHead,
  /** The quantities that have a valid assessment of their own; ask for one with `quantity`. */
  assessed: z.array(ageingQuantityName),
  assessment: storedCellAgeing,
});

/** The stored assessment of a lot, without its cells' own. */
export const storedLotAgeing = z.object({
  schemaVersion: z.literal(1),
  quantity: ageingQuantityName,
  axis: ageingAxis,
  ratedCapacityAh: numberOrNull,
  resistanceCondition: ageingCondition.nullable(),
  cells: z.array(z.object({ cellId: id, serial: z.string(), fitId: id })),
  /** Cells without a single value to follow. */
  without: z.array(z.object({ cellId: id, serial: z.string() })),
  pairs: z.array(pairDrift.extend({ stackId: id, stackName: z.string() })),
  stress: stressDependence.nullable(),
  warnings: z.array(ageingWarning),
});

/** One cell in the overlay of its lot. */
export const lotAgeingCell = z.object({
  cellId: id,
  serial: z.string(),
  fitId: id,
  unit: z.string(),
  x: z.array(z.number()),
  value: z.array(numberOrNull),
  /** Places in `x` and `value` of the readings that no law was fitted to; the track of the cell has their reasons. */
  leftOut: z.array(z.int()),
  chosen: ageingModelName.nullable(),
  knee: numberOrNull,
  limits: z.array(ageingLimit),
  earliest: ageingCell.shape.earliest,
  growthAgainstLoss,
  flags: z.array(ageingFlag),
});

/** The assessment of a lot as it is read: the overlay of its cells, drifting stacks, stress. */
export const lotAgeing = storedLotAgeing.extend({
  lotId: id,
  fit: fitHead,
  /** The quantities that have a valid assessment of their own; ask for one with `quantity`. */
  assessed: z.array(ageingQuantityName),
  cells: z.array(lotAgeingCell),
});

/** Which assessment is meant; without a quantity the newest. */
export const ageingQuery = z.object({ quantity: ageingQuantityName.optional() });

export type AgeingSettingsInput = z.output<typeof ageingSettings>;
export type AgeingCondition = z.infer<typeof ageingCondition>;
export type StoredLotAgeing = z.infer<typeof storedLotAgeing>;
export type CellAgeing = z.infer<typeof cellAgeing>;
export type LotAgeing = z.infer<typeof lotAgeing>;
