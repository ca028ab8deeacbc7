import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ColumnPacker } from '../../server/store/chunks/columnPacker.ts';
import { DamagedChunk, unpackColumn } from '../../server/store/chunks/unpackColumn.ts';

function pack(values: Float64Array): Uint8Array {
  const packer = new ColumnPacker();
  packer.add(values, 0, values.length);
  return packer.finish().data;
}

function roundTrip(values: Float64Array): Float64Array {
  const into = new Float64Array(values.length);
  expect(unpackColumn(pack(values), into)).toBe(values.length);
  return into;
}

function bitsOf(values: Float64Array): BigUint64Array {
  return new BigUint64Array(values.buffer, values.byteOffset, values.length);
}

/** Decimal texts as instruments print them, with one number of decimals for a stretch. */
const printed = fc
  .tuple(
    fc.integer({ min: 0, max: 12 }),
    fc.array(fc.integer({ min: -5_000_000, max: 5_000_000 }), { maxLength: 300 }),
  )
  .map(([decimals, integers]) => integers.map((m) => Number(`${m}e-${decimals}`)));
const anyBits = fc
  .array(fc.bigInt({ min: 0n, max: 2n ** 64n - 1n }), { maxLength: 300 })
  .map((list) => [...new Float64Array(BigUint64Array.from(list).buffer)]);
const oddOnes = fc.array(
  fc.constantFrom(
    0.1 + 0.2,
    1e-310,
    -0,
    0,
    5e-324,
    1.7976931348623157e308,
    1 / 3,
    3.4e38,
    2 ** 53,
    -(2 ** 51),
    1e22,
  ),
  { maxLength: 200 },
);
const walk = fc
  .tuple(fc.integer({ min: 1, max: 100_000 }), fc.integer({ min: 0, max: 6 }), fc.integer(), fc.nat(600))
  .map(([span, decimals, seed, length]) => {
    let state = seed | 1;
    let level = 0;
    return Array.from({ length }, () => {
      state = Math.imul(state, 1664525) + 1013904223;
      level += (state >> 8) % span;
      return level / 10 ** decimals;
    });
  });

describe('a packed column', () => {
  it('gives every float64 back bit for bit', () => {
    const series = fc
      .array(fc.oneof(printed, anyBits, oddOnes, walk), { maxLength: 4 })
      .map((parts) => parts.flat());
    fc.assert(
      fc.property(series, (list) => {
        const values = Float64Array.from(list);
        // Copied by bits: a NaN's payload may change when it passes through a plain number.
        expect(bitsOf(roundTrip(values))).toEqual(bitsOf(values));
      }),
      { numRuns: 400 },
    );
  });

  it('gives NaN with any payload back bit for bit', () => {
    const bits = BigUint64Array.from({ length: 200 }, (_, i) => 0x7ff8000000000000n + BigInt(i * i));
    const values = new Float64Array(bits.buffer);
    expect(bitsOf(roundTrip(values))).toEqual(bits);
  });

  it('does not depend on how the rows are handed over', () => {
    fc.assert(
      fc.property(walk, fc.array(fc.nat(200), { maxLength: 10 }), (list, cuts) => {
        const values = Float64Array.from(list);
        const packer = new ColumnPacker();
        let at = 0;
        for (const cut of [...cuts, values.length]) {
          const to = Math.min(values.length, at + cut);
          packer.add(values, at, to);
          at = to;
        }
        expect(packer.finish().data).toEqual(pack(values));
      }),
      { numRuns: 100 },
    );
  });

  it('keeps negative zeros among decimals small', () => {
    const values = Float64Array.from({ length: 12_800 }, (_, i) => (i % 3 === 0 ? -0 : (i % 7) / 1000));
    expect(bitsOf(roundTrip(values))).toEqual(bitsOf(values));
    expect(pack(values).length).toBeLessThan(12_800);
  });

  it('takes at most one byte a row for a steady clock and five bits for noise of 20 steps', () => {
    const clock = Float64Array.from({ length: 65_536 }, (_, i) => i / 10);
    expect(pack(clock).length).toBeLessThan(65_536 / 32);
    const noise = Float64Array.from(
      { length: 65_536 },
      (_, i) => (3_700_000 + (Math.imul(i, 2654435761) >>> 27)) / 1e6,
    );
    expect(pack(noise).length).toBeLessThan((65_536 * 5.3) / 8);
  });

  it('states the least and the greatest value, and an empty range where all are NaN', () => {
    const packer = new ColumnPacker();
    packer.add(Float64Array.from([3.2, -1.5, 0.1 + 0.2, Number.NaN]), 0, 4);
    expect(packer.finish()).toMatchObject({ min: -1.5, max: 3.2, rowCount: 4 });
    packer.add(new Float64Array(5).fill(Number.NaN), 0, 5);
    const empty = packer.finish();
    expect(empty.min).toBeGreaterThan(empty.max);
  });

  it('is refused, not misread, when it is damaged', () => {
    const whole = pack(Float64Array.from({ length: 1000 }, (_, i) => Math.sin(i)));
    const into = new Float64Array(1000);
    expect(() => unpackColumn(whole.slice(0, -4), into)).toThrow(DamagedChunk);
    expect(() => unpackColumn(whole.slice(0, 7), into)).toThrow(DamagedChunk);
    const otherVersion = whole.slice();
    otherVersion[0] = 9;
    expect(() => unpackColumn(otherVersion, into)).toThrow('format 9');
    expect(() => unpackColumn(whole, new Float64Array(999))).toThrow(RangeError);
    fc.assert(
      fc.property(fc.nat(whole.length - 1), fc.nat(255), (at, byte) => {
        const damaged = whole.slice();
        damaged[at] = byte;
        try {
          unpackColumn(damaged, into);
        } catch (error) {
          expect(error instanceof DamagedChunk || error instanceof RangeError).toBe(true);
        }
      }),
      { numRuns: 2000 },
    );
  });
});

describe('integers that are known already', () => {
  it('pack to the same bytes as the values they stand for', () => {
    const integers = fc.oneof(
      fc.array(fc.integer({ min: -300, max: 300 }), { minLength: 200, maxLength: 700 }),
      fc.array(fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 }), { minLength: 200, maxLength: 700 }),
      fc.array(fc.integer({ min: 2 ** 30 - 5, max: 2 ** 30 + 5 }), { minLength: 200, maxLength: 700 }),
    );
    fc.assert(
      fc.property(integers, fc.nat(9), fc.array(fc.nat(300), { maxLength: 5 }), (list, decimals, cuts) => {
        const source = Int32Array.from(list);
        const values = Float64Array.from(list, (integer) => integer / 10 ** decimals);
        const packer = new ColumnPacker();
        let at = 0;
        for (const cut of [...cuts, list.length]) {
          const to = Math.min(list.length, at + cut);
          packer.addIntegers(values, source, at, to, decimals);
          at = to;
        }
        const { data } = packer.finish();
        expect(data).toEqual(pack(values));
        expect(bitsOf(roundTrip(values))).toEqual(bitsOf(values));
      }),
      { numRuns: 200 },
    );
  });
});
