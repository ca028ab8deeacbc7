import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rowAtOrAfter, rowsForDisplay } from '../../../fitting/records/resample.ts';

describe('rowsForDisplay(timeS, values, pixels)', () => {
  it('keeps the first, lowest, highest and last row of every pixel, in order', () => {
    const series = fc.array(
      fc.tuple(fc.double({ min: 0, max: 5, noNaN: true }), fc.double({ min: -9, max: 9, noNaN: true })),
      {
        minLength: 1,
        maxLength: 400,
      },
    );
    fc.assert(
      fc.property(series, fc.integer({ min: 1, max: 40 }), (rows, pixels) => {
        let now = 0;
        const timeS = Float64Array.from(rows, ([step]) => (now += step));
        const values = Float64Array.from(rows, ([, value]) => value);
        const kept = [...rowsForDisplay(timeS, values, pixels)];
        expect(kept.length).toBeLessThanOrEqual(
          Math.max(4 * pixels, rows.length <= 4 * pixels ? rows.length : 0),
        );
        expect(kept).toEqual([...new Set(kept)].sort((a, b) => a - b));
        const seen = kept.map((row) => values[row]);
        expect(Math.max(...seen)).toBe(Math.max(...values));
        expect(Math.min(...seen)).toBe(Math.min(...values));
        expect(kept[0]).toBe(0);
        expect(kept[kept.length - 1]).toBe(rows.length - 1);
      }),
    );
  });

  it('works on a range of rows', () => {
    const timeS = Float64Array.from({ length: 1000 }, (_, i) => i);
    const values = timeS.map((t) => Math.sin(t));
    const kept = rowsForDisplay(timeS, values, 10, 200, 700);
    expect(kept[0]).toBe(200);
    expect(kept[kept.length - 1]).toBe(699);
    expect(() => rowsForDisplay(timeS, values, 0)).toThrow(/pixels/);
    expect(() => rowsForDisplay(timeS, values, 5, 0, 1001)).toThrow(/outside/);
  });
});

describe('rowAtOrAfter(timeS, at)', () => {
  it('is the first row not earlier', () => {
    const timeS = Float64Array.from([0, 1, 1, 2]);
    expect([-1, 0, 0.5, 1, 1.5, 3].map((at) => rowAtOrAfter(timeS, at))).toEqual([0, 0, 1, 1, 3, 4]);
  });
});
