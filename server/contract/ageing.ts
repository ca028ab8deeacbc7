import { z } from 'zod';
import { id } from './common.ts';
import { fitHead } from './tests.ts';

const numberOrNull = z.number().nullable();
const namedNumbers = z.record(z.string(), numberOrNull);

/** What is followed over life. */
export const ageingQuantityName = z.enum(['capacity', 'resistance']);

/** What life is counted in: cycles, equivalent full cycles, charge throughput in Ah, or days. */
export const ageingAxis = z.enum(['cycle', 'equivalent-full-cycles', 'throughput-ah', 'days']);

/** Why a point of a series is kept as measured but left out of the fits. */
export const pointReason = z.enum([
  'zero',
  'missing',
  'above-plausible-limit',
  'below-plausible-limit',
  'spike',
  'recovery',
  'restart',
]);

/** Why a model, a number, a limit or a forecast is missing. */
export const ageingReason = z.enum([
  'too-few-points',
  'not-converged',
  'not-identifiable',
  'at-bound',
  'aicc-undefined',
  'no-knee',
  'no-curvature',
  'wrong-direction',
  'no-rated-capacity',
  'no-resistance',
  'no-capacity',
  'already-crossed',
  'never-crosses',
  'beyond-stated-ratio',
  'interval-open',
  'no-initial-value',
  'carried-over',
]);

/** Names of the fade and rise models. */
export const ageingModelName = z.enum([
  'linear',
  'square-root',
  'power',
  'exponential-linear',
  'two-slope',
  'three-slope',
]);

/** The points of one series, kept as measured, with what was left out of the fits and why. */
export const ageingSeries = z.object({
  x: z.array(z.number()),
  value: z.array(numberOrNull),
  leftOut: z.array(
    z.object({ index: z.number().int(), x: z.number(), value: numberOrNull, reason: pointReason }),
  ),
  restarts: z.array(z.number()),
  firstMeasured: numberOrNull,
  initial: numberOrNull,
  fittedFrom: numberOrNull,
  carriedOver: z.boolean(),
});

/**
 * One model fitted to a series. `parameters`, `standardErrors` and `units` share their keys; `parameterReasons` holds
 * a code for each standard error that is null. `curve` is the fitted line on the chart's axis.
 */
export const ageingModel = z.object({
  name: ageingModelName,
  parameters: namedNumbers,
  standardErrors: namedNumbers,
  units: z.record(z.string(), z.string()),
  parameterReasons: z.record(z.string(), ageingReason),
  aicc: numberOrNull,
  deltaAicc: numberOrNull,
  weight: numberOrNull,
  residualSd: numberOrNull,
  points: z.number().int(),
  termination: z.string().nullable(),
  reason: ageingReason.nullable(),
  curve: z.object({ x: z.array(z.number()), y: z.array(z.number()) }).nullable(),
});

/** Where a limit will be reached. An extrapolation: `ratio` is value / end of the observed range. */
export const ageingForecast = z.object({
  value: numberOrNull,
  low: numberOrNull,
  high: numberOrNull,
  level: z.number(),
  reason: ageingReason.nullable(),
  method: z.enum(['lot-prior', 'model-average', 'fieller']).nullable(),
  extrapolation: z.boolean(),
  ratio: numberOrNull,
  refusedBeyondRatio: z.number(),
  priorCells: z.array(z.string()),
  /**
   * The best single model that can be continued, taken for true: by Fieller's region for a line, by profile likelihood
   * for the others. Narrower than the forecast, which allows for the model being wrong.
   */
  singleModel: z
    .object({
      name: ageingModelName,
      method: z.enum(['fieller', 'profile']),
      value: numberOrNull,
      low: numberOrNull,
      high: numberOrNull,
      reason: ageingReason.nullable(),
    })
    .nullish(),
  intervals: z.array(z.object({ level: z.number(), low: numberOrNull, high: numberOrNull })),
});

/** One limit: its threshold in the quantity's unit, whether it was crossed for good, and the forecast if not. */
export const ageingLimit = z.object({
  name: z.string(),
  quantity: ageingQuantityName,
  basis: z.enum(['of-rated', 'of-first-measured', 'absolute']),
  threshold: numberOrNull,
  crossedAt: numberOrNull,
  firstDipAt: numberOrNull,
  staysFor: z.object({ k: z.number().int(), n: z.number().int() }),
  reason: ageingReason.nullable(),
  forecast: ageingForecast,
});

/** The fan chart: for each x the quantiles of the quantity to be expected. `quantiles[q].y` belongs to `x`. */
export const ageingFan = z.object({
  x: z.array(z.number()),
  quantiles: z.array(z.object({ probability: z.number(), y: z.array(z.number()) })),
  extrapolatedFrom: z.number(),
});

/** Everything about one quantity of one cell. */
export const ageingTrack = z.object({
  quantity: ageingQuantityName,
  unit: z.string(),
  axis: ageingAxis,
  series: ageingSeries,
  chosen: ageingModelName.nullable(),
  knee: z.object({
    at: numberOrNull,
    low: numberOrNull,
    high: numberOrNull,
    onset: numberOrNull,
    reason: ageingReason.nullable(),
  }),
  models: z.array(ageingModel),
  fan: ageingFan.nullable(),
});

/** Relative resistance growth per relative capacity loss of one cell: d(R/R0) / d(-Q/Q0). */
export const growthAgainstLoss = z.object({
  slope: numberOrNull,
  standardError: numberOrNull,
  correlation: numberOrNull,
  points: z.number().int(),
  reason: ageingReason.nullable(),
});

export const ageingFlag = z.enum([
  'ages-faster-than-lot',
  'ages-slower-than-lot',
  'resistance-away-from-lot',
  'carried-over',
]);

/** One cell. The fields of the track are those of the quantity asked for; `companion` is the other one, if present. */
export const ageingCell = ageingTrack.extend({
  cell: z.string(),
  limits: z.array(ageingLimit),
  earliest: z.object({
    name: z.string().nullable(),
    value: numberOrNull,
    low: numberOrNull,
    high: numberOrNull,
    extrapolation: z.boolean(),
    reason: ageingReason.nullable(),
  }),
  companion: ageingTrack.nullable(),
  growthAgainstLoss,
  flags: z.array(ageingFlag),
});

/** Two cells (built as a stack) that left their tolerance of each other. */
export const pairDrift = z.object({
  cells: z.tuple([z.string(), z.string()]),
  quantity: ageingQuantityName,
  tolerance: z.number(),
  leavesAt: numberOrNull,
  differenceAtEnd: numberOrNull,
});

/** How life depends on stress across the cells of a type, checked by leaving each cell out. */
export const stressDependence = z.object({
  response: z.literal('ln-life'),
  limitName: z.string(),
  cells: z.array(z.object({ cell: z.string(), life: z.number(), predictedLeftOut: numberOrNull })),
  terms: z.array(
    z.object({
      name: z.string(),
      unit: z.string(),
      coefficient: numberOrNull,
      standardError: numberOrNull,
      validFrom: z.number(),
      validTo: z.number(),
      /** life(validTo) / life(validFrom) of an average cell, the other terms held: what the stress costs in life. */
      effect: z
        .object({ factor: numberOrNull, low: numberOrNull, high: numberOrNull, level: z.number() })
        .nullish(),
    }),
  ),
  explainedVarianceLeftOut: numberOrNull,
  residualSd: numberOrNull,
  verdict: z.enum(['usable', 'weak', 'cannot-tell']),
  reason: z.enum(['too-few-cells', 'no-stress-columns', 'no-variation', 'left-out-variance-low']).nullable(),
});

/** A remark on the table or on one cell. */
export const ageingWarning = z.object({
  code: z.enum([
    'points-left-out',
    'restart-of-the-bench',
    'carried-over-cell',
    'no-rated-capacity',
    'extrapolation',
    'forecast-refused',
    'column-guessed',
    'rows-skipped',
  ]),
  cell: z.string().nullable(),
  count: z.number().int(),
});

/** Result of `gemel evaluate ageing FILE` and of assessing stored cells. */
export const ageingResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('ageing'), version: z.string() }),
  quantity: ageingQuantityName,
  axis: ageingAxis,
  ratedCapacityAh: numberOrNull,
  cells: z.array(ageingCell),
  pairs: z.array(pairDrift),
  stress: stressDependence.nullable(),
  warnings: z.array(ageingWarning),
});

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
  chosen: ageingModelName.nullable(),
  knee: numberOrNull,
  limits: z.array(ageingLimit),
  earliest: ageingCell.shape.earliest,
  growthAgainstLoss,
  flags: z.array(ageingFlag),
});

/** The assessment of a lot as it is read: the overlay of its cells, drifting stacks, stress. */
export const lotAgeing = storedLotAgeing.extend({ lotId: id, fit: fitHead, cells: z.array(lotAgeingCell) });

export type AgeingQuantityName = z.infer<typeof ageingQuantityName>;
export type AgeingAxis = z.infer<typeof ageingAxis>;
export type AgeingReason = z.infer<typeof ageingReason>;
export type AgeingModelResult = z.infer<typeof ageingModel>;
export type AgeingTrack = z.infer<typeof ageingTrack>;
export type AgeingCell = z.infer<typeof ageingCell>;
export type AgeingLimit = z.infer<typeof ageingLimit>;
export type AgeingForecast = z.infer<typeof ageingForecast>;
export type AgeingResult = z.infer<typeof ageingResult>;
export type StressDependence = z.infer<typeof stressDependence>;
export type AgeingSettingsInput = z.output<typeof ageingSettings>;
export type AgeingCondition = z.infer<typeof ageingCondition>;
export type StoredLotAgeing = z.infer<typeof storedLotAgeing>;
export type CellAgeing = z.infer<typeof cellAgeing>;
export type LotAgeing = z.infer<typeof lotAgeing>;
