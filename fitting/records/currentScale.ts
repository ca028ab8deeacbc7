import { medianOf, secondDifferenceNoise } from '../numeric/index.ts';
import type { RecordColumns } from './record.ts';

/** Current levels of a record that the step finder measures everything against. All in A. */
export interface CurrentScale {
  /** A typical large current; single spikes do not count. */
  readonly largeA: number;
  /** Rest is a current within this of the offset. */
  readonly restA: number;
  /** Noise of the current under load, not below its noise in rest. */
  readonly loadNoiseA: number;
  /** Quantisation of the current column, 0 where none is visible. */
  readonly resolutionA: number;
  /** Median current in rest: the offset of the channel. Null without rest. */
  readonly restOffsetA: number | null;
}

/** Rest is within this share of the large current, or within noise and resolution where they are larger. */
const REST_SHARE = 0.003;
/** No channel is off by more than this share of the current it was chosen for. Common practice, no source. */
const LARGEST_OFFSET_SHARE = 0.02;
/** Multiple of the noise that readings stay within: with Gaussian noise one in two million does not. */
const NOISE_MULTIPLE = 5;
/** A noise of more than this share of the large current is a signal. */
const NOISIEST_SHARE = 0.1;

/**
 * Levels and noise of the current column: what counts as a rest is estimated from the readings near zero, their level
 * (the offset of the channel) and their scatter.
 */
export function currentScale(record: RecordColumns, resolutionA: number): CurrentScale {
  const { currentA } = record;
  const largeA = largeCurrent(currentA);
  const small = (row: number): boolean => Math.abs(currentA[row]) < NOISIEST_SHARE * largeA;
  const restNoise = secondDifferenceNoise(currentA, (i) => small(i - 1) && small(i) && small(i + 1));
  const restA = Math.max(
    REST_SHARE * largeA,
    1.5 * resolutionA,
    Math.min(NOISE_MULTIPLE * restNoise, NOISIEST_SHARE * largeA),
    1e-9,
  );
  const restOffsetA = restLevel(currentA, restA, LARGEST_OFFSET_SHARE * largeA);
  const steady = (a: number, b: number): boolean =>
    Math.abs(a - b) < 0.1 * Math.max(Math.abs(a), Math.abs(b));
  const loadNoiseA = secondDifferenceNoise(
    currentA,
    (i) =>
      Math.abs(currentA[i] - (restOffsetA ?? 0)) > restA &&
      steady(currentA[i - 1], currentA[i]) &&
      steady(currentA[i], currentA[i + 1]),
  );
  return {
    largeA,
    restA,
    loadNoiseA: Math.max(loadNoiseA, Math.min(restNoise, restA), resolutionA / Math.sqrt(12)),
    resolutionA,
    restOffsetA,
  };
}

/** A typical large current in A: the 98th percentile of the magnitudes that stand clear of noise and of zero. Single spikes do not move it. */
export function largeCurrent(currentA: Float64Array): number {
  let highest = 0;
  for (const current of currentA) highest = Math.max(highest, Math.abs(current));
  const noiseA = secondDifferenceNoise(currentA, () => true);
  const above = (limit: number): number[] => {
    const found: number[] = [];
    for (const current of currentA) if (Math.abs(current) > limit) found.push(Math.abs(current));
    return found;
  };
  let loaded = above(Math.max(0.005 * highest, NOISE_MULTIPLE * noiseA));
  // A current that switches at every other row has second differences as large as itself.
  if (loaded.length === 0) loaded = above(0.005 * highest);
  const sorted = Float64Array.from(loaded).sort();
  return sorted.length === 0 ? 0 : sorted[Math.floor(0.98 * (sorted.length - 1))];
}

/**
 * The level nearest to zero at which the current stays: the median of the readings within `bandA` of it. Null where no
 * reading up to `farthestA` stays at a level, as in the tail of a taper.
 */
function restLevel(currentA: Float64Array, bandA: number, farthestA: number): number | null {
  const near = Array.from(currentA).filter((current) => Math.abs(current) <= Math.max(farthestA, bandA));
  if (near.length === 0) return null;
  const atZero = near.filter((current) => Math.abs(current) <= bandA);
  const settled = atZero.length >= Math.max(1, 0.05 * near.length);
  let level = settled ? medianOf(atZero) : medianOf(nearestToZero(near, Math.ceil(0.2 * near.length)));
  for (let round = 0; round < 5; round++) {
    const around = near.filter((current) => Math.abs(current - level) <= bandA);
    if (around.length === 0) return null;
    level = medianOf(around);
  }
  return settled || staysAt(currentA, level, bandA) ? level : null;
}

/** So many of the values, those nearest to zero. */
function nearestToZero(values: readonly number[], count: number): number[] {
  return [...values].sort((a, b) => Math.abs(a) - Math.abs(b)).slice(0, count);
}

/** Whether runs of readings within `bandA` of a level begin and end at one level, instead of passing through it. */
function staysAt(currentA: Float64Array, level: number, bandA: number): boolean {
  const drifts: number[] = [];
  for (let row = 0; row < currentA.length; row++) {
    const start = row;
    while (row < currentA.length && Math.abs(currentA[row] - level) <= bandA) row++;
    if (row - start >= 3) drifts.push(Math.abs(currentA[row - 1] - currentA[start]));
  }
  return drifts.length > 0 && medianOf(drifts) < 0.7 * bandA;
}
