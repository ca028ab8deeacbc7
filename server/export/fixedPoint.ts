import { ExportRefused } from './refusal.ts';

/** How a table of numbers is held in integers: value = raw / scale. */
export interface FixedPoint {
  readonly cType: 'uint16_t' | 'int16_t' | 'uint32_t' | 'int32_t';
  readonly bytesEach: 2 | 4;
  /** Counts per unit, a power of ten. */
  readonly scale: number;
  readonly raw: readonly number[];
}

/** Largest relative change that rounding may make to any value that is not zero. */
export const largestRelativeRounding = 1e-4;

/** Rounds to the nearest integer, halves away from zero. */
function roundHalfAway(value: number): number {
  return Math.sign(value) * Math.floor(Math.abs(value) + 0.5);
}

/**
 * The narrowest integers that hold the values to one part in ten thousand, with the finest scale that fits; 16 bits where they
 * do, else 32.
 *
 * @param strictlyAscending whether neighbours must stay apart after rounding
 * @throws ExportRefused where 32 bits do not hold them so.
 */
export function fixedPoint(values: readonly number[], field: string, strictlyAscending = false): FixedPoint {
  const bad = values.find((value) => !Number.isFinite(value));
  if (bad !== undefined)
    throw new ExportRefused('parameter-out-of-range', field, String(bad), 'a finite number is needed');
  const signed = values.some((value) => value < 0);
  const largest = Math.max(...values.map(Math.abs));
  for (const bytesEach of [2, 4] as const) {
    const range = 2 ** (8 * bytesEach - (signed ? 1 : 0)) - 1;
    const scale = finestScale(largest, range);
    if (scale === null) continue;
    const raw = values.map((value) => roundHalfAway(value * scale) + 0);
    const close = raw.every(
      (r, i) => Math.abs(r / scale - values[i]) <= largestRelativeRounding * Math.abs(values[i]),
    );
    const apart = !strictlyAscending || raw.every((r, i) => i === 0 || r > raw[i - 1]);
    if (close && apart) {
      const width = bytesEach === 2 ? '16' : '32';
      return { cType: signed ? `int${width}_t` : `uint${width}_t`, bytesEach, scale, raw };
    }
  }
  throw new ExportRefused(
    'does-not-fit-fixed-point',
    field,
    `values up to ${largest}`,
    `32-bit integers cannot hold all of them to 1 part in ${1 / largestRelativeRounding}`,
  );
}

/** Largest power of ten from 1 to 1e9 by which `largest` may be multiplied without leaving the range; null: none. */
function finestScale(largest: number, range: number): number | null {
  for (let power = 9; power >= 0; power--) {
    const scale = 10 ** power;
    if (largest * scale <= range) return scale;
  }
  return null;
}
