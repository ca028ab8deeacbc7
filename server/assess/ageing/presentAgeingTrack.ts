import type { Fan, LawFit, PreparedSeries } from '../../../fitting/ageing/index.ts';
import {
  ageingPoints,
  type Knee,
  kneeOf,
  type ModelCandidate,
  type ModelComparison,
  parameterIntervals,
  residualsOf,
} from '../../../fitting/ageing/index.ts';
import type { UncertaintyReason } from '../../../fitting/least-squares/index.ts';
import { coverageFactor } from '../../../fitting/least-squares/index.ts';
import type {
  AgeingAxis,
  AgeingModelResult,
  AgeingQuantityName,
  AgeingReason,
  AgeingTrack,
} from '../../contract/ageingTrack.ts';
import { checkResiduals } from '../checkResiduals.ts';

/** Points of a fitted curve on the chart. */
const CURVE_POINTS = 80;
/** Level of the intervals of parameters and of the bands. */
const LEVEL = 0.95;

/** What one quantity of one cell gave, before it is put into words of the contract. */
export interface TrackParts {
  readonly quantity: AgeingQuantityName;
  readonly axis: AgeingAxis;
  readonly series: PreparedSeries;
  readonly comparison: ModelComparison | null;
  readonly carriedOver: boolean;
  readonly restarts: readonly number[];
  readonly fan: Fan | null;
}

/** A number that JSON can carry: null for one that is not finite. */
export const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);

/** The contract's view of one quantity of one cell. */
export function presentTrack(parts: TrackParts): AgeingTrack {
  const { quantity, axis, series, comparison, carriedOver, restarts, fan } = parts;
  const unit = quantity === 'capacity' ? 'Ah' : 'ohm';
  const knee: Knee =
    comparison === null
      ? { at: null, low: null, high: null, onset: null, reason: 'too-few-points' }
      : kneeOf(comparison, quantity);
  return {
    quantity,
    unit,
    axis,
    series: {
      x: Array.from(series.x),
      value: Array.from(series.y, finite),
      leftOut: series.leftOut.map(({ index, reason }) => ({
        index,
        x: series.x[index],
        value: finite(series.y[index]),
        reason,
      })),
      restarts: [...restarts],
      firstMeasured: series.firstMeasured,
      initial: series.initial,
      fittedFrom: series.points?.x[0] ?? null,
      carriedOver,
    },
    chosen: comparison?.chosen?.name ?? null,
    knee,
    models:
      comparison?.candidates.map((candidate) => presentModel(candidate, comparison, series, unit, axis)) ??
      [],
    fan:
      fan === null
        ? null
        : { ...fan, x: [...fan.x], quantiles: fan.quantiles.map((q) => ({ ...q, y: [...q.y] })) },
    published: [],
  };
}

function presentModel(
  candidate: ModelCandidate,
  comparison: ModelComparison,
  series: PreparedSeries,
  unit: string,
  axis: AgeingAxis,
): AgeingModelResult {
  const { name, fit, reason } = candidate;
  const parameters = fit?.parameters ?? [];
  const byName = <T>(pick: (p: (typeof parameters)[number]) => T): Record<string, T> =>
    Object.fromEntries(parameters.map((p) => [p.name, pick(p)]));
  const reasons = parameters.filter((p) => p.reason !== null && p.standardError === null);
  return {
    name,
    parameters: byName((p) => finite(p.value)),
    standardErrors: byName((p) => (p.standardError === null ? null : finite(p.standardError))),
    units: byName((p) => unitOf(p.name, unit, axis)),
    parameterReasons: Object.fromEntries(reasons.map((p) => [p.name, reasonOf(p.reason)])),
    ...judged(fit, comparison, series),
    aicc: candidate.aicc,
    deltaAicc: candidate.deltaAicc,
    weight: candidate.weight,
    residualSd: fit?.fit.residualSd == null ? null : finite(fit.fit.residualSd),
    points: series.points?.x.length ?? 0,
    termination: fit?.fit.termination ?? null,
    reason,
    curve: fit === null || series.points === null ? null : curveOf(fit, series.points.x),
  };
}

/** Intervals and residual tests, for the chosen model alone: the others are only compared. */
function judged(
  fit: LawFit | null,
  { chosen, weights }: ModelComparison,
  { points }: PreparedSeries,
): Pick<AgeingModelResult, 'intervals' | 'residualChecks'> {
  if (fit === null || fit !== chosen || points === null) return { intervals: {}, residualChecks: null };
  const fitted = weights === null ? points : ageingPoints(points.x, points.y, weights);
  const intervals = parameterIntervals(fit, fitted, LEVEL).map(({ name, low, high, method }) => [
    name,
    { low, high, method },
  ]);
  return {
    intervals: Object.fromEntries(intervals),
    residualChecks: checkResiduals(Array.from(residualsOf(fit, points))),
  };
}

/** The line with its band, and the band of a single new reading; null where the fit gives no covariance. */
function bandOf(fit: LawFit, x: readonly number[], y: readonly number[]) {
  const { residualSd, degreesOfFreedom } = fit.fit;
  const variances = x.map((at) => fit.variance(at));
  if (residualSd === null || degreesOfFreedom <= 0) return null;
  if (variances.some((variance) => variance === null || !Number.isFinite(variance))) return null;
  const factor = coverageFactor(fit.fit, LEVEL);
  const half = variances.map((variance) => factor * Math.sqrt(Math.max(variance ?? 0, 0)));
  const reading = half.map((of) => Math.hypot(of, factor * residualSd));
  return {
    low: y.map((value, i) => value - half[i]),
    high: y.map((value, i) => value + half[i]),
    readingLow: y.map((value, i) => value - reading[i]),
    readingHigh: y.map((value, i) => value + reading[i]),
  };
}

function curveOf(fit: LawFit, points: Float64Array): AgeingModelResult['curve'] {
  const first = points[0];
  const last = points[points.length - 1];
  const x = Array.from({ length: CURVE_POINTS + 1 }, (_, i) => first + ((last - first) * i) / CURVE_POINTS);
  const y = x.map((at) => fit.value(at));
  return y.every(Number.isFinite) ? { x, y, band: bandOf(fit, x, y) } : null;
}

const X_UNITS: Readonly<Record<AgeingAxis, string>> = {
  cycle: 'cycle',
  'equivalent-full-cycles': 'EFC',
  'throughput-ah': 'Ah',
  days: 'd',
};

function unitOf(parameter: string, unit: string, axis: AgeingAxis): string {
  const x = X_UNITS[axis];
  if (parameter === 'exponent') return '1';
  if (['scale', 'knee', 'onset', 'width'].includes(parameter)) return x;
  if (/slope/i.test(parameter)) return `${unit}/${x}`;
  if (parameter === 'coefficient') return `${unit}/${x}^exponent`;
  return unit;
}

function reasonOf(reason: UncertaintyReason | null): AgeingReason {
  if (reason === 'at-lower-bound' || reason === 'at-upper-bound') return 'at-bound';
  if (reason === null || reason === 'fixed') return 'not-identifiable';
  return reason;
}
