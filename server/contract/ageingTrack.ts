import { z } from 'zod';
import { publishedLaw } from './publishedLaws.ts';
import { residualChecks } from './residualChecks.ts';

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
  'unrepresentative-start',
  'before-step',
  'failed',
]);

/** Why a model, a number, a limit or a forecast is missing. */
export const ageingReason = z.enum([
  'too-few-points',
  'not-converged',
  'not-identifiable',
  'at-bound',
  'no-knee',
  'smooth-acceleration',
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
 * a code for each standard error that is null. `curve` is the fitted line on the chart's axis, with the 95 % band of the line
 * (`low`, `high`) and of a single new reading (`readingLow`, `readingHigh`) where the data give one.
 */
export const ageingModel = z.object({
  name: ageingModelName,
  parameters: namedNumbers,
  standardErrors: namedNumbers,
  units: z.record(z.string(), z.string()),
  parameterReasons: z.record(z.string(), ageingReason),
  /**
   * 95 % intervals of the parameters: by profile likelihood where the curve is far from linear in one (exponent, scale), on a
   * logarithmic scale for the factor of a power, else by standard error and Student's t. An end that the data leave open is null.
   */
  intervals: z
    .record(
      z.string(),
      z.object({
        low: numberOrNull,
        high: numberOrNull,
        method: z.enum(['profile', 'logarithmic', 'student']),
      }),
    )
    .default({}),
  /** Of the chosen model; null for the others and without residuals. */
  residualChecks: residualChecks.nullable().default(null),
  aicc: numberOrNull,
  deltaAicc: numberOrNull,
  weight: numberOrNull,
  residualSd: numberOrNull,
  points: z.number().int(),
  termination: z.string().nullable(),
  reason: ageingReason.nullable(),
  curve: z
    .object({
      x: z.array(z.number()),
      y: z.array(z.number()),
      band: z
        .object({
          low: z.array(z.number()),
          high: z.array(z.number()),
          readingLow: z.array(z.number()),
          readingHigh: z.array(z.number()),
        })
        .nullable()
        .default(null),
    })
    .nullable(),
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
  /** Published laws that were asked for, beside this series. */
  published: z.array(publishedLaw).default([]),
});

export type AgeingQuantityName = z.infer<typeof ageingQuantityName>;
export type AgeingAxis = z.infer<typeof ageingAxis>;
export type AgeingReason = z.infer<typeof ageingReason>;
export type AgeingModelResult = z.infer<typeof ageingModel>;
export type AgeingTrack = z.infer<typeof ageingTrack>;
export type PointReason = z.infer<typeof pointReason>;
