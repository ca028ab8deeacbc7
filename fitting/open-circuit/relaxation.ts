import { checkResiduals, decay } from '../circuit/index.ts';
import type { FitResult } from '../least-squares/index.ts';
import { aicc, createSeparableSolver, type SeparableSolver, withPrior } from '../least-squares/index.ts';

export type RelaxationReason = 'too-few-rows' | 'relaxation-too-slow';

/** Where the voltage of a rest is heading. */
export interface RelaxationEnd {
  /** Voltage after complete relaxation; null with a reason. */
  readonly ocvV: number | null;
  readonly standardUncertaintyV: number | null;
  /** `ocvV` minus the last voltage: how far was extrapolated. */
  readonly extrapolatedV: number | null;
  readonly reason: RelaxationReason | null;
}

const solvers = new Map<string, SeparableSolver>();

function solverFor(count: number, withSlow: boolean): SeparableSolver {
  const key = `${count}${withSlow}`;
  let solver = solvers.get(key);
  if (solver === undefined) {
    const numbers = Array.from({ length: count }, (_, i) => i);
    // What Gram sums cannot resolve is refused below, so the finish by QR would be spent on refused models.
    solver = createSeparableSolver(
      {
        linear: [
          { name: 'ocv', unit: 'V' },
          ...numbers.map((i) => ({ name: `a${i}`, unit: 'V' })),
          ...(withSlow ? [{ name: 'slow', unit: 'V' }] : []),
        ],
        nonlinear: numbers.map((i) => ({ name: `logTau${i}`, unit: '1', start: i, maxStep: 1.5 })),
        derivatives: numbers.map((i) => ({ basis: i + 1, nonlinear: i })),
      },
      { polish: 'never', refine: 1, maxIterations: 25 },
    );
    solvers.set(key, solver);
  }
  return solver;
}

/**
 * Extrapolates the relaxation of a rest: V(t) = OCV + Σ aᵢ exp(−t/τᵢ) with one to three terms, the number by
 * AICc. A term slower than two thirds of the rest cannot be separated from a shift of the OCV, so models that need
 * one are refused; when all are, there is no OCV (`relaxation-too-slow`). Uncertainty: the fit's, widened for
 * correlated residuals, the quantisation, a tenth of the extrapolation, because relaxation is not exactly
 * a sum of exponentials, and what a process too slow for the rest may still hold (`varianceWithUnseen`).
 *
 * @param timeS rows of one rest, in order
 */
export function relaxationEnd(
  timeS: Float64Array,
  voltageV: Float64Array,
  resolutionV: number,
): RelaxationEnd {
  const n = timeS.length;
  const none = (reason: RelaxationReason): RelaxationEnd => ({
    ocvV: null,
    standardUncertaintyV: null,
    extrapolatedV: null,
    reason,
  });
  if (n < 8) return none('too-few-rows');
  const lastV = voltageV[n - 1];
  const { t, y, weights } = gather(timeS, voltageV, lastV);
  const spread = Math.max(...y) - Math.min(...y);
  const floorV = resolutionV / Math.sqrt(12);
  const still = meanOfStill(y, weights, resolutionV);
  if (still !== null) {
    const unseen = varianceOfStill({ t, y, weights, floorV }, still, spread <= resolutionV);
    return {
      ocvV: lastV + still.meanV,
      standardUncertaintyV: Math.hypot(Math.sqrt(unseen), floorV),
      extrapolatedV: still.meanV,
      reason: null,
    };
  }
  let best: Contender | null = null;
  // A relaxation of a few steps of the quantisation carries one term, not three.
  const most = spread < 6 * resolutionV ? 1 : 3;
  for (let count = 1; count <= most && t.length >= 2 * count + 5; count++) {
    const fit = fitDecays(t, y, weights, count);
    const value = acceptable(fit, count, t[t.length - 1]) ? aicc(contender(fit)).value : null;
    // More terms are tried as long as they help.
    if (value === null || (best !== null && value >= best.value)) break;
    best = { fit, count, value };
  }
  if (best === null) return none('relaxation-too-slow');
  const [ocv] = best.fit.parameters;
  const variance = varianceWithUnseen({ t, y, weights, floorV }, best);
  return {
    ocvV: lastV + ocv.value,
    standardUncertaintyV: Math.hypot(Math.sqrt(variance), floorV, 0.1 * ocv.value),
    extrapolatedV: ocv.value,
    reason: null,
  };
}

/** A gathered rest: times from its beginning, voltages from its last, rows behind each, and the step's standard deviation. */
interface Rest {
  readonly t: Float64Array;
  readonly y: Float64Array;
  readonly weights: Float64Array;
  readonly floorV: number;
}

/** What a process slower than the rest may still have to go, over what it went in the second half: 3 after diffusion into depth. */
const STILL_OVER_LATE = 3;
const LEAST_STILL_V = 5e-3;

/**
 * Standard uncertainty of the last voltage of a rest as an open-circuit voltage where no end of the relaxation was found, in V:
 * by how far it went in the second half of the rest.
 */
export function stillToMoveV(timeS: Float64Array, voltageV: Float64Array): number {
  const n = timeS.length;
  const half = timeS.findIndex((time) => time - timeS[0] >= (timeS[n - 1] - timeS[0]) / 2);
  const about = Math.max(1, Math.floor(n / 20));
  const mean = (from: number, to: number): number =>
    voltageV.subarray(from, to).reduce((sum, value) => sum + value, 0) / (to - from);
  const wentV = mean(n - about, n) - mean(half, Math.min(n, half + about));
  return Math.max(LEAST_STILL_V, STILL_OVER_LATE * Math.abs(wentV));
}

/** A fit with so many terms, and its AICc. */
interface Contender {
  readonly fit: FitResult;
  readonly count: number;
  readonly value: number;
}

/**
 * How processes go on that a rest cannot show, at a time in lengths of the rest: exponentials as slow as the rest or slower, and
 * the inverse root of diffusion into depth (Crank, The Mathematics of Diffusion, from memory).
 */
const UNSEEN: readonly ((share: number) => number)[] = [
  ...[0.7, 1, 2, 4].map((lengths) => (share: number) => decay(share / lengths)),
  (share) => 1 / Math.sqrt(1 + share / 0.2),
];
/** In a rest in which nothing moves what is still to come may be much slower than the rest. */
const UNSEEN_IN_STILL = [...UNSEEN, ...[8, 16].map((lengths) => (share: number) => decay(share / lengths))];

/** Standard deviation of an unseen process's amplitude before the rest is looked at, in parts of what the rest relaxes. */
const PRIOR_SHARE = 0.5;
/** Weight of there being no such process, against there being one; diffusion into depth is hardly ever over. */
const NONE_UNSEEN = 0.25;
/**
 * The same for a rest in which nothing moves: 2 mV after ten minutes, falling with the root of time as diffusion does. Common
 * practice, no source.
 */
const stillPriorV = (lengthS: number): number => 2e-3 / Math.sqrt(Math.max(lengthS, 60) / 600);

/**
 * Variance of the end of a relaxation, with what a process slower than the rest may still hold: beside the chosen fit stand those with
 * one more term, and each counts by its Bayes factor against none (`withPrior`). Where the rest has come to its end the data leave little to
 * such a term; where it has not, they do not rule it out.
 */
function varianceWithUnseen(rest: Rest, { fit, count }: Contender): number {
  const { t, y, weights, floorV } = rest;
  const lengthS = t[t.length - 1];
  const { rowsPerIndependent } = checkResiduals(decayResiduals(fit, t, y));
  const ocvV = fit.parameters[0].value;
  const residual = (fit.residualSumOfSquares ?? 0) / Math.max(1, fit.points - fit.freeParameters);
  // Readings closer than their step are no better known.
  const factor = rowsPerIndependent * (residual > 0 ? Math.max(1, floorV ** 2 / residual) : 1);
  const prior = (PRIOR_SHARE * (Math.max(...y) - Math.min(...y))) ** 2;
  let total = NONE_UNSEEN;
  let sum = NONE_UNSEEN * factor * (fit.parameters[0].standardError ?? 0) ** 2;
  for (const course of UNSEEN) {
    const column = t.map((time) => course(time / lengthS));
    const { converged, covariance, parameters } = fitDecays(t, y, weights, count, column);
    if (!converged || covariance === null) continue;
    const place = 1 + count;
    const found = withPrior(
      {
        value: parameters[0].value,
        amplitude: parameters[place].value,
        own: factor * covariance[0][0],
        shared: factor * covariance[0][place],
        ofAmplitude: factor * covariance[place][place],
      },
      { mean: 0, variance: prior },
    );
    if (found === null) continue;
    const worth = found.support / UNSEEN.length;
    total += worth;
    sum += worth * (found.variance + (found.value - ocvV) ** 2);
  }
  return sum / total;
}

/**
 * Variance of the mean of a rest in which nothing moves, as the end of its relaxation: what {@link UNSEEN} may still hold beside a
 * constant, weighed as in {@link varianceWithUnseen}.
 *
 * @param isOneReading whether all readings lie within one step of the instrument, which then know no more together than one
 */
function varianceOfStill(
  { t, y, weights, floorV }: Rest,
  { meanV, uncertaintyV }: { readonly meanV: number; readonly uncertaintyV: number },
  isOneReading: boolean,
): number {
  const lengthS = t[t.length - 1];
  const { rowsPerIndependent } = checkResiduals(y.map((value) => value - meanV));
  const rows = weights.reduce((sum, weight) => sum + weight, 0);
  // The variance of one row; of readings within one step no number of them is better than two.
  const row =
    Math.max(uncertaintyV ** 2 * rows, floorV ** 2) * (isOneReading ? rows / 2 : rowsPerIndependent);
  const prior = { mean: 0, variance: stillPriorV(lengthS) ** 2 };
  let total = NONE_UNSEEN;
  let sum = NONE_UNSEEN * uncertaintyV ** 2;
  for (const course of UNSEEN_IN_STILL) {
    const x = t.map((time) => course(time / lengthS));
    let [sumX, sumXx, sumXy] = [0, 0, 0];
    for (let k = 0; k < x.length; k++) sumX += weights[k] * x[k];
    for (let k = 0; k < x.length; k++) {
      const away = x[k] - sumX / rows;
      sumXx += weights[k] * away ** 2;
      sumXy += weights[k] * away * (y[k] - meanV);
    }
    const amplitude = sumXy / sumXx;
    const ofAmplitude = row / sumXx;
    const centre = sumX / rows;
    const found = withPrior(
      {
        value: meanV - amplitude * centre,
        amplitude,
        own: row / rows + centre ** 2 * ofAmplitude,
        shared: -centre * ofAmplitude,
        ofAmplitude,
      },
      prior,
    );
    if (found === null) continue;
    const worth = found.support / UNSEEN_IN_STILL.length;
    total += worth;
    sum += worth * (found.variance + (found.value - meanV) ** 2);
  }
  return sum / total;
}

/**
 * The mean of a rest in which nothing moves: its first and last third agree within three standard errors, or
 * all within the quantisation.
 */
function meanOfStill(
  y: Float64Array,
  weights: Float64Array,
  resolutionV: number,
): { meanV: number; uncertaintyV: number } | null {
  const third = Math.floor(y.length / 3);
  const part = (from: number, to: number) => {
    let [sum, total, squares] = [0, 0, 0];
    for (let k = from; k < to; k++) {
      sum += weights[k] * y[k];
      total += weights[k];
    }
    for (let k = from; k < to; k++) squares += weights[k] * (y[k] - sum / total) ** 2;
    // Gathered rows are means, so their scatter is that of a mean: the rows themselves count.
    return { mean: sum / total, error: Math.sqrt(squares / total / (to - from - 1)) };
  };
  const [first, last] = [part(0, third), part(y.length - third, y.length)];
  const differs =
    Math.abs(first.mean - last.mean) > Math.max(3 * Math.hypot(first.error, last.error), resolutionV);
  if (differs) return null;
  const all = part(0, y.length);
  return { meanV: all.mean, uncertaintyV: all.error };
}

/**
 * Rows above which a rest is gathered, and how much longer each of the gathered spans is than the one before.
 */
const MOST_ROWS = 130;
const GROWTH = 1.08;

/**
 * Times from the beginning and voltages relative to the last; long rests as means over spans that grow with
 * time.
 */
function gather(
  timeS: Float64Array,
  voltageV: Float64Array,
  lastV: number,
): { t: Float64Array; y: Float64Array; weights: Float64Array } {
  const n = timeS.length;
  if (n <= MOST_ROWS) {
    return {
      t: timeS.map((time) => time - timeS[0]),
      y: voltageV.map((voltage) => voltage - lastV),
      weights: new Float64Array(n).fill(1),
    };
  }
  const [t, y, weights]: number[][] = [[], [], []];
  let from = 0;
  while (from < n) {
    const untilS = Math.max(GROWTH * (timeS[from] - timeS[0]), (timeS[n - 1] - timeS[0]) / 1e4);
    let to = from + 1;
    while (to < n && timeS[to] - timeS[0] < untilS) to++;
    let [sumT, sumY] = [0, 0];
    for (let k = from; k < to; k++) {
      sumT += timeS[k] - timeS[0];
      sumY += voltageV[k] - lastV;
    }
    t.push(sumT / (to - from));
    y.push(sumY / (to - from));
    weights.push(to - from);
    from = to;
  }
  return { t: Float64Array.from(t), y: Float64Array.from(y), weights: Float64Array.from(weights) };
}

const contender = (fit: FitResult) => ({
  residualSumOfSquares: fit.residualSumOfSquares,
  points: fit.points,
  freeParameters: fit.freeParameters,
});

/** @param slow course of one more term whose amplitude is fitted; null for none */
function fitDecays(
  t: Float64Array,
  y: Float64Array,
  weights: Float64Array,
  count: number,
  slow: Float64Array | null = null,
): FitResult {
  const lengthS = t[t.length - 1];
  const low = Math.log(Math.max(lengthS / 1e4, (t[1] - t[0]) / 2, 1e-3));
  const high = Math.log(2 * lengthS);
  const at = (share: number): number => low + share * (high - low);
  const starts = [
    [[0.5], [0.8]],
    [
      [0.4, 0.75],
      [0.6, 0.9],
    ],
    [
      [0.3, 0.55, 0.8],
      [0.4, 0.65, 0.9],
    ],
  ][count - 1].map((start) => start.map(at));
  return solverFor(count, slow !== null).solve(
    {
      y,
      weights,
      fill(logTau, basis, derivatives, first) {
        if (first) {
          basis[0].fill(1);
          if (slow !== null) basis[count + 1].set(slow);
        }
        for (let i = 0; i < count; i++) {
          const rate = Math.exp(-logTau[i]);
          for (let k = 0; k < t.length; k++) {
            const left = decay(t[k] * rate);
            basis[i + 1][k] = left;
            derivatives[i][k] = left * t[k] * rate;
          }
        }
      },
    },
    starts,
    { min: new Array(count).fill(low), max: new Array(count).fill(high) },
  );
}

function acceptable(fit: FitResult, count: number, lengthS: number): boolean {
  if (!fit.converged || fit.covariance === null) return false;
  for (let i = 0; i < count; i++) {
    const amplitude = fit.parameters[1 + i];
    const logTau = fit.parameters[1 + count + i];
    if (Math.exp(logTau.value) > (2 / 3) * lengthS) return false;
    if (Math.abs(amplitude.value) < 2 * (amplitude.standardError ?? Infinity)) return false;
  }
  return true;
}

function decayResiduals(fit: FitResult, t: Float64Array, y: Float64Array): Float64Array {
  const count = (fit.parameters.length - 1) / 2;
  return y.map((value, k) => {
    let model = fit.parameters[0].value;
    for (let i = 0; i < count; i++) {
      model += fit.parameters[1 + i].value * Math.exp(-t[k] / Math.exp(fit.parameters[1 + count + i].value));
    }
    return value - model;
  });
}
