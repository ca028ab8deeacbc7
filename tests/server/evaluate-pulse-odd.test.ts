import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { evaluatedPulseRecord } from '../../server/contract/pulseRecord.ts';

const columns = (rows: readonly (readonly [number, number, number])[]) => ({
  timeS: Float64Array.from(rows, (row) => row[0]),
  voltageV: Float64Array.from(rows, (row) => row[1]),
  currentA: Float64Array.from(rows, (row) => row[2]),
});

/** What leaves the process must fit the contract: JSON has no NaN, so a hidden one would become null and fail. */
function check(rows: readonly (readonly [number, number, number])[]): ReturnType<typeof evaluatePulseRecord> {
  const result = evaluatePulseRecord(columns(rows), { ratedCapacityAh: 2, startSoc: 0.5 });
  evaluatedPulseRecord.parse(JSON.parse(JSON.stringify(result)));
  return result;
}

describe('evaluatePulseRecord(record) on odd records', () => {
  it('gives a result of the contract for any finite record', () => {
    const part = fc.record({
      rows: fc.integer({ min: 1, max: 25 }),
      intervalS: fc.constantFrom(0, 0.1, 1, 60, 4000),
      currentA: fc.constantFrom(0, -3, 2, 0.001, -1e-7, 250),
      noise: fc.constantFrom(0, 1e-3, 0.5),
    });
    fc.assert(
      fc.property(
        fc.array(part, { minLength: 1, maxLength: 7 }),
        fc.integer({ min: 1, max: 1000 }),
        (parts, seed) => {
          let state = seed;
          const random = () => {
            state = (state * 48271) % 2147483647;
            return state / 2147483647 - 0.5;
          };
          const rows: [number, number, number][] = [];
          let now = 0;
          for (const { rows: count, intervalS, currentA, noise } of parts) {
            for (let k = 0; k < count; k++) {
              rows.push([
                now,
                3.7 + 0.02 * currentA + noise * random(),
                currentA * (1 + 0.01 * noise * random()),
              ]);
              now += intervalS;
            }
          }
          check(rows);
        },
      ),
      { numRuns: 150 },
    );
  });

  it('says where the sign of the current is turned round, and is silent where it is not', () => {
    const record = (sign: number): [number, number, number][] =>
      Array.from({ length: 400 }, (_, i) => {
        const currentA = i % 100 > 49 && i % 100 < 70 ? -2 : 0;
        return [i, 3.7 + 0.03 * currentA + 0.0002 * Math.sin(7 * i), sign * currentA];
      });
    const codes = (sign: number) => check(record(sign)).warnings.map(({ code }) => code);
    expect(codes(1)).not.toContain('voltage-against-current');
    expect(codes(-1)).toContain('voltage-against-current');
  });

  it.each([
    ['a single row', [[0, 3.7, 0]]],
    ['a single row under load', [[0, 3.7, -2]]],
    ['no current at all', Array.from({ length: 50 }, (_, i) => [i, 3.7, 0])],
    ['one time stamp', Array.from({ length: 30 }, (_, i) => [5, 3.7, i > 9 && i < 20 ? -1 : 0])],
    ['a voltage that never moves', Array.from({ length: 90 }, (_, i) => [i, 3.7, i > 29 && i < 60 ? -1 : 0])],
    [
      'a sine of current',
      Array.from({ length: 400 }, (_, i) => [i / 10, 3.7 + 0.02 * Math.sin(i / 9), Math.sin(i / 9)]),
    ],
  ] as [string, [number, number, number][]][])('takes %s', (_, rows) => {
    const result = check(rows);
    expect(result.record.rows).toBe(rows.length);
    expect(result.steps[result.steps.length - 1].lastRow).toBe(rows.length - 1);
  });

  it('refuses an unfit record or setting with column, row and value', () => {
    expect(() => evaluatePulseRecord(columns([]))).toThrow(/at least one row/);
    expect(() =>
      evaluatePulseRecord(
        columns([
          [0, 3.7, 0],
          [1, Number.NaN, 0],
        ]),
      ),
    ).toThrow(/voltageV\[1\] is NaN/);
    expect(() => evaluatePulseRecord(columns([[0, 3.7, 0]]), { durationsS: [-1] })).toThrow(/-1 s/);
    expect(() => evaluatePulseRecord(columns([[0, 3.7, 0]]), { maxBranches: 7 })).toThrow(/branches is 7/);
  });
});
