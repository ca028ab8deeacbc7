import { chiSquareQuantile, normalQuantile } from './distributions.ts';
import { checkSample, mean, standardDeviation } from './sample.ts';

/** Specification limits; null where a side has none. */
export interface SpecificationLimits {
  readonly lower: number | null;
  readonly upper: number | null;
}

export interface Capability {
  readonly mean: number;
  readonly standardDeviation: number;
  readonly count: number;
  /** (USL − LSL)/6s; null for a one-sided specification or no spread. */
  readonly cp: number | null;
  /** Nearer limit over 3s; null without spread. Negative where the mean lies outside. */
  readonly cpk: number | null;
  /** |middle − mean| over half the width; null for a one-sided specification. */
  readonly k: number | null;
  readonly cpInterval: readonly [number, number] | null;
  /** Approximate: Bissell, Applied Statistics 39 (1990) 331; wider where skewness and kurtosis of the values ask for it. */
  readonly cpkInterval: readonly [number, number] | null;
  readonly level: number;
  readonly outside: number;
  readonly reason: 'no-spread' | 'one-sided' | null;
}

/**
 * Capability indices (e-Handbook of Statistical Methods 6.1.6) of a sample against its limits.
 *
 * @throws RangeError for fewer than 2 values, no limit at all, or limits that cross
 */
export function capability(values: ArrayLike<number>, limits: SpecificationLimits, level = 0.95): Capability {
  checkSample(values, 2);
  let outside = 0;
  for (let i = 0; i < values.length; i++) {
    const below = limits.lower !== null && values[i] < limits.lower;
    if (below || (limits.upper !== null && values[i] > limits.upper)) outside++;
  }
  const indices = capabilityOf(mean(values), standardDeviation(values), values.length, limits, level);
  return { ...indices, outside, cpkInterval: withShape(indices, values, limits) };
}

/**
 * Bissell's interval takes the values for normal. The variance of mean and standard deviation is that of any distribution by its
 * third and fourth moments (the delta method: var(s)/s² = (κ + 2)/4n, cov(m, s)/s² = γ/2n; M. G. Kendall and A. Stuart, The Advanced
 * Theory of Statistics, vol. 1, ch. 10; from memory); the sample's own moments count where they make the interval wider.
 */
function withShape(
  { mean: centre, standardDeviation: deviation, cpk, cpkInterval, count, level }: Capability,
  values: ArrayLike<number>,
  { lower, upper }: SpecificationLimits,
): Capability['cpkInterval'] {
  if (cpk === null || cpkInterval === null) return cpkInterval;
  let [third, fourth] = [0, 0];
  for (let i = 0; i < count; i++) {
    const away = (values[i] - centre) / deviation;
    third += away ** 3;
    fourth += away ** 4;
  }
  const [skewness, kurtosis] = [third / count, fourth / count - 3];
  const isUpperNearer = upper !== null && (lower === null || upper - centre <= centre - lower);
  const variance =
    1 / (9 * count) +
    (cpk ** 2 * (kurtosis + 2)) / (4 * (count - 1)) +
    ((isUpperNearer ? 1 : -1) * cpk * skewness) / (3 * count);
  const half = normalQuantile(0.5 + level / 2) * Math.sqrt(Math.max(0, variance));
  return [Math.min(cpkInterval[0], cpk - half), Math.max(cpkInterval[1], cpk + half)];
}

/** The same from mean, standard deviation and count; `outside` is 0, being unknown. */
export function capabilityOf(
  centre: number,
  deviation: number,
  count: number,
  limits: SpecificationLimits,
  level = 0.95,
): Capability {
  const { lower, upper } = limits;
  if (lower === null && upper === null) throw new RangeError('limits: lower or upper must be given');
  if (lower !== null && upper !== null && !(lower < upper)) {
    throw new RangeError(`limits: lower (${lower}) must be below upper (${upper})`);
  }
  if (!(level > 0 && level < 1)) throw new RangeError(`level must lie between 0 and 1, got ${level}`);
  const base = { mean: centre, standardDeviation: deviation, count, level, outside: 0 };
  const half = lower !== null && upper !== null ? (upper - lower) / 2 : null;
  const k = half === null || lower === null ? null : Math.abs(lower + half - centre) / half;
  if (!(deviation > 0)) {
    return { ...base, cp: null, cpk: null, k, cpInterval: null, cpkInterval: null, reason: 'no-spread' };
  }
  const cp = half === null ? null : half / (3 * deviation);
  const room = Math.min(
    upper === null ? Infinity : upper - centre,
    lower === null ? Infinity : centre - lower,
  );
  const cpk = room / (3 * deviation);
  const degrees = count - 1;
  const tail = (1 - level) / 2;
  const bissell = normalQuantile(1 - tail) * Math.sqrt(1 / (9 * count) + (cpk * cpk) / (2 * degrees));
  return {
    ...base,
    cp,
    cpk,
    k,
    cpInterval:
      cp === null
        ? null
        : [
            cp * Math.sqrt(chiSquareQuantile(tail, degrees) / degrees),
            cp * Math.sqrt(chiSquareQuantile(1 - tail, degrees) / degrees),
          ],
    cpkInterval: [cpk - bissell, cpk + bissell],
    reason: half === null ? 'one-sided' : null,
  };
}
