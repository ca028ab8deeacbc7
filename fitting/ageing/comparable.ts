import { tQuantile } from '../statistics/index.ts';
import type { LotCell } from './lotForecast.ts';

/** A finished cell at the stage at which the young one is now. */
export interface CellAtStage {
  readonly cell: LotCell;
  readonly age: number;
}

/** Chance with which a cell that is like the others is taken for one that is not. */
const FALSE_ALARM = 0.01;
/** Shares of the age at which the way gone so far is compared. */
const COMPARED_AT = [0.5, 0.75];
/** Standard deviation of a running median of 15 points over that of one point: √(π/2/15). */
const MEDIAN_NOISE = 0.32;
/** Differences of this size in the share of the way that was gone, or in ln(age), are no reason not to compare. */
const LEAST_SHARE_SPREAD = 0.02;
const LEAST_AGE_SPREAD = 0.05;

/**
 * Whether a young cell's own curve so far is one that the finished cells could have had: the age at which it has gone as far towards
 * the limit as they had, and the shares of that way that were gone at half and at three quarters of that age. Each is tested against the
 * finished cells' spread by Student's t for one further cell (prediction interval), with Bonferroni's correction.
 *
 * @param now the young cell at the end of its data
 * @param gone share of its way to the limit that is gone
 * @param then the finished cells at the same stage, at least 3
 * @param noise of one point of the young cell, in the unit of the series
 */
export function isComparable(
  now: CellAtStage,
  gone: number,
  then: readonly CellAtStage[],
  noise: number,
): boolean {
  const n = then.length;
  const way = Math.abs(now.cell.threshold - now.cell.initial);
  const ofNoise = (Math.SQRT2 * MEDIAN_NOISE * noise) / (gone * way);
  const features = [
    { of: (one: CellAtStage) => Math.log(one.age), least: LEAST_AGE_SPREAD, noise: ofNoise },
    ...COMPARED_AT.map((share) => ({
      of: (one: CellAtStage) => shareGone(one, share, gone),
      least: LEAST_SHARE_SPREAD,
      noise: ofNoise,
    })),
  ];
  const limit = tQuantile(1 - FALSE_ALARM / (2 * features.length), n - 1);
  return features.every((feature) => {
    const values = then.map(feature.of);
    const mean = values.reduce((sum, value) => sum + value, 0) / n;
    const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1);
    const spread = Math.sqrt(variance * (1 + 1 / n) + feature.least ** 2 + feature.noise ** 2);
    return Math.abs(feature.of(now) - mean) <= limit * spread;
  });
}

/** Of what is gone at an age, the part that was gone at a share of that age. */
function shareGone({ cell, age }: CellAtStage, share: number, gone: number): number {
  const { points, smooth, initial, threshold } = cell;
  let i = 0;
  while (i + 1 < points.x.length && points.x[i + 1] <= share * age) i++;
  return (smooth[i] - initial) / (threshold - initial) / gone;
}
