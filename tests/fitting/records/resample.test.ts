import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DrawnRows, rowAtOrAfter } from '../../../fitting/records/resample.ts';

/** The rows to draw, with the record given in blocks of so many rows. */
function rowsToDraw(timeS: Float64Array, values: Float64Array, pixels: number, block: number): number[] {
  const whole = { count: timeS.length, fromS: timeS[0], toS: timeS[timeS.length - 1] };
  const drawn = new DrawnRows(pixels, whole);
  for (let i = 0; i < timeS.length; i += block)
    drawn.add(timeS.subarray(i, i + block), values.subarray(i, i + block), i);
  return [...drawn.rows()];
}

describe('rows to draw', () => {
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
        const kept = rowsToDraw(timeS, values, pixels, rows.length);
        expect(rowsToDraw(timeS, values, pixels, 7)).toEqual(kept);
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

  it('numbers rows from the first one on, and needs a pixel', () => {
    const timeS = Float64Array.from({ length: 500 }, (_, i) => 200 + i);
    const drawn = new DrawnRows(10, { count: 500, fromS: 200, toS: 699 });
    drawn.add(
      timeS,
      timeS.map((t) => Math.sin(t)),
      200,
    );
    const kept = drawn.rows();
    expect(kept[0]).toBe(200);
    expect(kept[kept.length - 1]).toBe(699);
    expect(() => new DrawnRows(0, { count: 1, fromS: 0, toS: 0 })).toThrow(/pixels/);
  });
});

describe('rowAtOrAfter(timeS, at)', () => {
  it('is the first row not earlier', () => {
    const timeS = Float64Array.from([0, 1, 1, 2]);
    expect([-1, 0, 0.5, 1, 1.5, 3].map((at) => rowAtOrAfter(timeS, at))).toEqual([0, 0, 1, 1, 3, 4]);
  });
});
