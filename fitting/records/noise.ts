import type { RecordColumns } from './record.ts';

/** Median of the first `count` numbers of `values`, which are reordered. NaN where there are none. */
export function medianInPlace(values: number[]): number {
  if (values.length === 0) return Number.NaN;
  values.sort((a, b) => a - b);
  const middle = values.length >> 1;
  return values.length % 2 === 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
}

/**
 * Standard deviation of white noise on a column, blind to slopes: 1.4826 × the median absolute second
 * difference, divided by √6 (the factor by which second differences widen white noise).
 *
 * @param pick whether the three rows i−1, i, i+1 may be used.
 * @returns 0 where fewer than five places qualify.
 */
export function secondDifferenceNoise(values: Float64Array, pick: (row: number) => boolean): number {
  const found: number[] = [];
  for (let i = 1; i + 1 < values.length; i++) {
    if (pick(i)) found.push(Math.abs(values[i + 1] - 2 * values[i] + values[i - 1]));
  }
  if (found.length < 5) return 0;
  return (1.4826 * medianInPlace(found)) / Math.sqrt(6);
}

/** Current levels of a record that the step finder measures everything against. All in A. */
export interface CurrentScale {
  /** A typical large current; single spikes do not count. */
  readonly largeA: number;
  /** Rest is |current| up to this. */
  readonly restA: number;
  /** Noise of the current under load. */
  readonly loadNoiseA: number;
  /** Quantisation of the current column, 0 where none is visible. */
  readonly resolutionA: number;
  /** Median current in rest: the offset of the channel. Null without rest. */
  readonly restOffsetA: number | null;
}

/**
 * Levels and noise of the current column. Rest is set at 0.3 % of the large current, or above noise and
 * resolution.
 */
export function currentScale(record: RecordColumns, resolutionA: number): CurrentScale {
  const { currentA } = record;
  let highest = 0;
  for (const current of currentA) highest = Math.max(highest, Math.abs(current));
  const loaded: number[] = [];
  for (const current of currentA) if (Math.abs(current) > 0.005 * highest) loaded.push(Math.abs(current));
  loaded.sort((a, b) => a - b);
  const largeA = loaded.length === 0 ? 0 : loaded[Math.floor(0.98 * (loaded.length - 1))];
  const nearZero = (row: number): boolean => Math.abs(currentA[row]) < 0.01 * largeA;
  const restNoise = secondDifferenceNoise(currentA, (i) => nearZero(i - 1) && nearZero(i) && nearZero(i + 1));
  const restA = Math.max(0.003 * largeA, 1.5 * resolutionA, Math.min(5 * restNoise, 0.01 * largeA), 1e-9);
  const rests: number[] = [];
  for (const current of currentA) if (Math.abs(current) <= restA) rests.push(current);
  const steady = (a: number, b: number): boolean =>
    Math.abs(a - b) < 0.1 * Math.max(Math.abs(a), Math.abs(b));
  const loadNoiseA = secondDifferenceNoise(
    currentA,
    (i) =>
      Math.abs(currentA[i]) > restA &&
      steady(currentA[i - 1], currentA[i]) &&
      steady(currentA[i], currentA[i + 1]),
  );
  return {
    largeA,
    restA,
    loadNoiseA: Math.max(loadNoiseA, resolutionA / Math.sqrt(12)),
    resolutionA,
    restOffsetA: rests.length === 0 ? null : medianInPlace(rests),
  };
}
