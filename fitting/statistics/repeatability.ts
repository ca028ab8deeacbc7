import { checkSample, mean } from './sample.ts';

export interface PooledDeviation {
  readonly standardDeviation: number;
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
  /** Repeatability limit 1.96·√2·s: two single readings differ by less in 95 % of cases (ISO 5725-6). */
  readonly repeatabilityLimit: number;
}

/** 1.96·√2 with the exact normal quantile. */
const LIMIT = 1.959963984540054 * Math.SQRT2;

/**
 * Repeatability from repeated readings of several objects: the standard deviations within the groups, pooled
 * by degrees of freedom.
 *
 * @throws RangeError for a group that is empty or not finite, or where no group has two readings
 */
export function pooledRepeatability(groups: readonly ArrayLike<number>[]): PooledDeviation {
  let sumOfSquares = 0;
  let degreesOfFreedom = 0;
  groups.forEach((group, g) => {
    checkSample(group, 1, `groups[${g}]`);
    const centre = mean(group);
    for (let i = 0; i < group.length; i++) sumOfSquares += (group[i] - centre) ** 2;
    degreesOfFreedom += group.length - 1;
  });
  return pooledDeviation([{ sumOfSquares, degreesOfFreedom }]);
}

/** The same from sums of squares and degrees of freedom. @throws RangeError without degrees of freedom */
export function pooledDeviation(
  parts: readonly { readonly sumOfSquares: number; readonly degreesOfFreedom: number }[],
): PooledDeviation {
  const sumOfSquares = parts.reduce((sum, part) => sum + part.sumOfSquares, 0);
  const degreesOfFreedom = parts.reduce((sum, part) => sum + part.degreesOfFreedom, 0);
  if (!(degreesOfFreedom > 0)) throw new RangeError('no group has two readings: there is nothing to pool');
  const standardDeviation = Math.sqrt(sumOfSquares / degreesOfFreedom);
  return { standardDeviation, sumOfSquares, degreesOfFreedom, repeatabilityLimit: LIMIT * standardDeviation };
}
