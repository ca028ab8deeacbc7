import type { RandomSource } from '../../statistics/random.ts';
import type { FitParameter } from '../types.ts';

/**
 * Random starts for a multi-start: between finite bounds uniformly, or uniformly in the logarithm where both
 * bounds have one sign and lie more than a factor of 100 apart; with an open bound by a factor e^±spread (or,
 * at 0, ±spread) around the given start, pulled inside. Fixed parameters keep theirs.
 *
 * @param spread default 2
 * @throws RangeError for a negative count
 */
export function randomStarts(
  parameters: readonly FitParameter[],
  count: number,
  random: RandomSource,
  spread = 2,
): Float64Array[] {
  if (!(count >= 0)) throw new RangeError(`count must not be negative, got ${count}`);
  return Array.from({ length: count }, () =>
    Float64Array.from(parameters, (parameter) =>
      parameter.fixed ? parameter.start : draw(parameter, random, spread),
    ),
  );
}

function draw(parameter: FitParameter, random: RandomSource, spread: number): number {
  const { start, min = -Infinity, max = Infinity } = parameter;
  const u = random();
  if (min > -Infinity && max < Infinity) {
    const ratio = max / min;
    if (min !== 0 && (ratio > 100 || (ratio > 0 && ratio < 0.01))) return min * ratio ** u;
    return min + u * (max - min);
  }
  const around = start === 0 ? spread * (2 * u - 1) : start * Math.exp(spread * (2 * u - 1));
  return Math.min(Math.max(around, min), max);
}
