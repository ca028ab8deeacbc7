import { z } from 'zod';
import { ageingAxis, ageingModelName, ageingQuantityName, ageingReason, ageingTrack } from './ageingTrack.ts';

const numberOrNull = z.number().nullable();

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
  /** Conditions by which the cells of the lot were matched; empty: none are known, and their experience is taken as comparable. */
  priorConditions: z.array(z.string()).default([]),
  /**
   * Probability that the curve bends to a steeper one between the last measurement and the limit. No data announce it; the
   * interval allows for it. Null where the cell's own points give no curve.
   */
  bendAhead: numberOrNull.default(null),
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
  /** Probability that the limit is reached by the asked x; null where none was asked, or there is no distribution. */
  reachedBy: z.object({ x: z.number(), probability: z.number() }).nullable().default(null),
});

/** One limit: its threshold in the quantity's unit, whether it was crossed for good, and the forecast if not. */
export const ageingLimit = z.object({
  name: z.string(),
  quantity: ageingQuantityName,
  basis: z.enum(['of-rated', 'of-first-measured', 'absolute']),
  threshold: numberOrNull,
  crossedAt: numberOrNull,
  /** Points between which the limit was crossed, by spacing and noise of the points (95 %); null where it was not. */
  crossedBetween: z.object({ low: numberOrNull, high: z.number() }).nullish(),
  firstDipAt: numberOrNull,
  staysFor: z.object({ k: z.number().int(), n: z.number().int() }),
  reason: ageingReason.nullable(),
  forecast: ageingForecast,
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
    'failed-cell',
    'low-rows-at-the-end',
    'unrepresentative-start',
    'level-step',
    'conditions-not-stated',
    'no-comparable-cells',
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

export type AgeingCell = z.infer<typeof ageingCell>;
export type AgeingLimit = z.infer<typeof ageingLimit>;
export type AgeingForecast = z.infer<typeof ageingForecast>;
export type AgeingResult = z.infer<typeof ageingResult>;
export type StressDependence = z.infer<typeof stressDependence>;
