import { medianOf } from '../numeric/index.ts';
import type { AgeingQuantity } from './cleanSeries.ts';

/** A place at which the level of a series steps towards the aged side and stays there. */
export interface LevelStep {
  /** Index of the first point after it. */
  readonly index: number;
  /** Change of the level, a fraction of that before. */
  readonly share: number;
}

/** Points compared on either side. */
const BESIDE = 5;
/** A step is larger than this share of the level, and than so many standard deviations of the point-to-point scatter … */
const LEAST_SHARE = 0.03;
const LEAST_SIGMAS = 8;
/** … happens for the most part between two neighbouring points … */
const AT_ONCE = 0.7;
/** … and is so many times what the series changes over as many points before and after it: a knee goes on falling. */
const ABOVE_FADE = 4;

/**
 * Steps of the level: what a change of temperature, rate, tester or fixture in mid-life looks like, or a sudden loss.
 * The points before and after one are not of one curve.
 *
 * @param y without what was left out, in order of age
 * @param noise standard deviation of the point-to-point scatter
 */
export function levelSteps(y: Float64Array, noise: number, quantity: AgeingQuantity): LevelStep[] {
  const aged = quantity === 'capacity' ? -1 : 1;
  const steps: LevelStep[] = [];
  for (let i = BESIDE; i + BESIDE <= y.length; i++) {
    const before = y.subarray(i - BESIDE, i);
    const after = y.subarray(i, i + BESIDE);
    const level = medianOf(before);
    const change = medianOf(after) - level;
    if (!(aged * change > Math.max(LEAST_SHARE * level, LEAST_SIGMAS * noise))) continue;
    if (!(aged * (y[i] - y[i - 1]) > AT_ONCE * Math.abs(change))) continue;
    const fade = Math.max(Math.abs(before[BESIDE - 1] - before[0]), Math.abs(after[BESIDE - 1] - after[0]));
    if (Math.abs(change) < ABOVE_FADE * Math.max(fade - 2 * noise, 0)) continue;
    steps.push({ index: i, share: change / level });
  }
  return steps;
}
