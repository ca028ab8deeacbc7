import { normalProbability } from '../statistics/index.ts';

/** The level behind readings in whole steps, where it stays the same. */
export interface QuantisedLevel {
  readonly level: number;
  /** Standard deviation of the level, given the readings. */
  readonly standardUncertainty: number;
  /** Whether the level may lie anywhere in an interval, because hardly a reading leaves its step. */
  readonly flat: boolean;
}

/** Noise, as a share of the step, that is looked at. Above it the mean of the readings is as good. */
const NOISES = Array.from({ length: 72 }, (_, k) => 0.01 * 200 ** (k / 71));
/** Positions of a level that are looked at, in a step. */
const GRID = 60;
/** Steps from a level beyond which a reading has no chance. */
const FARTHEST = 12;
const UNLIKELY = -690;
/** Kurtosis below which a distribution counts as rectangular (1.8) rather than normal (3). */
const FLAT_BELOW = 2.3;

/**
 * Levels behind groups of readings that were rounded to whole steps, with one unknown normal noise for all groups: the
 * likelihood of the counts on each step, with equal weight for each level and a weight of each size of the noise that is
 * between equal and equal in the logarithm. Where the noise is a part of a step, the share of readings on the neighbouring
 * step locates the level far better than their mean, which rounding biases by up to half a step. Readings that never leave
 * their step leave it open.
 *
 * @param groups readings of each level
 * @param step in which the readings move
 */
export function quantisedLevels(groups: readonly ArrayLike<number>[], step: number): QuantisedLevel[] {
  const posteriors = groups.map((group) => {
    const base = commonest(group);
    const counts = countSteps(group, base, step);
    const middle = counts.reduce((sum, one) => sum + one.at * one.count, 0) / total(counts);
    // In parts of a step; a level never lies farther than one step from the mean of its readings.
    const centre = Math.round(middle * GRID);
    const positions = Array.from({ length: 2 * GRID + 1 }, (_, k) => centre + k - GRID);
    const logs = NOISES.map((_, k) => positions.map((position) => logLikelihood(counts, position, k)));
    return {
      base,
      only: counts.length === 1 ? counts[0].at : null,
      positions: positions.map((position) => position / GRID),
      logs,
      sums: logs.map(logSum),
    };
  });
  const noiseLogs = NOISES.map(
    (noise, k) => 0.5 * Math.log(noise) + posteriors.reduce((sum, { sums }) => sum + sums[k], 0),
  );
  const all = logSum(noiseLogs);
  return posteriors.map(({ base, only, positions, logs, sums }) => {
    if (only !== null)
      return { level: base + only * step, standardUncertainty: step / Math.sqrt(12), flat: true };
    const weights = positions.map((_, j) =>
      logs.reduce((sum, row, k) => sum + Math.exp(noiseLogs[k] - all - sums[k] + row[j]), 0),
    );
    const found = moments(positions, weights, step);
    return { ...found, level: base + found.level };
  });
}

/** The reading that comes most often. */
function commonest(readings: ArrayLike<number>): number {
  const counts = new Map<number, number>();
  let [best, most] = [0, 0];
  for (let i = 0; i < readings.length; i++) {
    const count = (counts.get(readings[i]) ?? 0) + 1;
    counts.set(readings[i], count);
    if (count > most) [best, most] = [readings[i], count];
  }
  return best;
}

interface StepCount {
  /** Position in steps from the commonest reading. */
  readonly at: number;
  readonly count: number;
}

/** Steps count from a reading: a file may round its readings, and a thousand steps of a step so found end beside the thousandth. */
function countSteps(readings: ArrayLike<number>, base: number, step: number): StepCount[] {
  const counts = new Map<number, number>();
  for (let i = 0; i < readings.length; i++) {
    const at = Math.round((readings[i] - base) / step);
    counts.set(at, (counts.get(at) ?? 0) + 1);
  }
  return [...counts].map(([at, count]) => ({ at, count }));
}

const total = (counts: readonly StepCount[]): number => counts.reduce((sum, one) => sum + one.count, 0);

/** @param position in parts of a step */
function logLikelihood(counts: readonly StepCount[], position: number, noise: number): number {
  const logs = logShares(noise);
  return counts.reduce(
    (sum, { at, count }) => sum + count * (logs[Math.abs(at * GRID - position)] ?? UNLIKELY),
    0,
  );
}

const shares: (readonly number[] | undefined)[] = [];

/** Logarithm of the share of readings that fall on a step, by its distance from the level in parts of a step. */
function logShares(noise: number): readonly number[] {
  shares[noise] ??= Array.from({ length: FARTHEST * GRID }, (_, k) => {
    const near = k / GRID;
    if (near > 0.5 + 12 * NOISES[noise]) return UNLIKELY;
    // The tail nearer to zero keeps its digits.
    const share =
      normalProbability((0.5 - near) / NOISES[noise]) - normalProbability((-0.5 - near) / NOISES[noise]);
    return Math.max(UNLIKELY, Math.log(share));
  });
  return shares[noise];
}

function logSum(logs: readonly number[]): number {
  const highest = Math.max(...logs);
  return highest + Math.log(logs.reduce((sum, value) => sum + Math.exp(value - highest), 0));
}

function moments(positions: readonly number[], weights: readonly number[], step: number): QuantisedLevel {
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const central = (power: number, about: number): number =>
    positions.reduce((sum, position, j) => sum + weights[j] * (position - about) ** power, 0) / all;
  const mean = central(1, 0);
  const variance = central(2, mean);
  const spacing = positions[1] - positions[0];
  return {
    level: mean * step,
    standardUncertainty: Math.sqrt(variance + spacing ** 2 / 12) * step,
    flat: variance > 0 && central(4, mean) / variance ** 2 < FLAT_BELOW,
  };
}
