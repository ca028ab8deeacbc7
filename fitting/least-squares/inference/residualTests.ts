import { normalProbability } from '../../statistics/index.ts';

/** Runs of equal sign in residuals taken in the order of the independent variable. */
export interface RunsTest {
  readonly runs: number;
  readonly positive: number;
  readonly negative: number;
  readonly expectedRuns: number | null;
  /** (runs − expected)/sd; negative: too few runs, the curve misses a trend. */
  readonly z: number | null;
  /** P(this few runs or fewer) for random signs. */
  readonly pFewRuns: number | null;
  readonly exact: boolean;
  readonly reason: 'one-sign' | null;
}

/** Up to this many signs of each kind the distribution is summed exactly. */
const EXACT_UP_TO = 200;

/**
 * Wald–Wolfowitz runs test (Ann. Math. Stat. 11 (1940) 147; e-Handbook of Statistical Methods 1.3.5.13).
 * Zeros are left out. Exact distribution up to 200 of each sign, normal approximation beyond.
 */
export function runsTest(residuals: ArrayLike<number>): RunsTest {
  let [runs, positive, negative, last] = [0, 0, 0, 0];
  for (let i = 0; i < residuals.length; i++) {
    const sign = Math.sign(residuals[i]);
    if (sign === 0 || Number.isNaN(sign)) continue;
    if (sign > 0) positive++;
    else negative++;
    if (sign !== last) runs++;
    last = sign;
  }
  if (positive === 0 || negative === 0) {
    return {
      runs,
      positive,
      negative,
      expectedRuns: null,
      z: null,
      pFewRuns: null,
      exact: false,
      reason: 'one-sign',
    };
  }
  const n = positive + negative;
  const product = 2 * positive * negative;
  const expectedRuns = product / n + 1;
  const variance = (product * (product - n)) / (n * n * (n - 1));
  const z = variance > 0 ? (runs - expectedRuns) / Math.sqrt(variance) : null;
  const exact = Math.max(positive, negative) <= EXACT_UP_TO;
  const approximate =
    variance > 0 ? normalProbability((runs + 0.5 - expectedRuns) / Math.sqrt(variance)) : null;
  const pFewRuns = exact ? probabilityOfFewRuns(runs, positive, negative) : approximate;
  return { runs, positive, negative, expectedRuns, z, pFewRuns, exact, reason: null };
}

function probabilityOfFewRuns(runs: number, positive: number, negative: number): number {
  const logFactorial = [0];
  for (let k = 1; k <= positive + negative; k++) logFactorial[k] = logFactorial[k - 1] + Math.log(k);
  const choose = (n: number, k: number): number =>
    k < 0 || k > n ? 0 : Math.exp(logFactorial[n] - logFactorial[k] - logFactorial[n - k]);
  const scale = logFactorial[positive + negative] - logFactorial[positive] - logFactorial[negative];
  let probability = 0;
  for (let r = 2; r <= runs; r++) {
    const half = r >> 1;
    const ways =
      r % 2 === 0
        ? 2 * choose(positive - 1, half - 1) * choose(negative - 1, half - 1)
        : choose(positive - 1, half) * choose(negative - 1, half - 1) +
          choose(positive - 1, half - 1) * choose(negative - 1, half);
    probability += ways / Math.exp(scale);
  }
  return Math.min(1, probability);
}

/** Durbin–Watson statistic of residuals in order. */
export interface DurbinWatson {
  /**
   * Σ(rᵢ − rᵢ₋₁)²/Σrᵢ², between 0 and 4; about 2 without correlation. Null for fewer than 3 residuals or all
   * zero.
   */
  readonly statistic: number | null;
  /** Correlation of neighbours, about 1 − statistic/2. */
  readonly lagOne: number | null;
  /**
   * Approximate P(a statistic this low) without correlation: normal with mean 2 and variance 4(n − 2)/(n² −
   * 1).
   */
  readonly pPositive: number | null;
}

/**
 * Durbin and Watson, Biometrika 37 (1950) 409. The p-value is von Neumann's large-sample one (Ann. Math.
 * Stat. 12 (1941) 367); it ignores the fitted parameters, which pull the statistic up by about 2p/n.
 */
export function durbinWatson(residuals: ArrayLike<number>): DurbinWatson {
  const n = residuals.length;
  let [square, steps, neighbours] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    square += residuals[i] ** 2;
    if (i === 0) continue;
    steps += (residuals[i] - residuals[i - 1]) ** 2;
    neighbours += residuals[i] * residuals[i - 1];
  }
  if (n < 3 || !(square > 0)) return { statistic: null, lagOne: null, pPositive: null };
  const statistic = steps / square;
  const deviation = Math.sqrt((4 * (n - 2)) / (n * n - 1));
  return {
    statistic,
    lagOne: neighbours / square,
    pPositive: normalProbability((statistic - 2) / deviation),
  };
}
