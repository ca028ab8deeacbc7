import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { monotoneCurve } from '../../../fitting/numeric/monotoneCurve.ts';
import { currentOffset } from '../../../fitting/open-circuit/currentOffset.ts';
import { ocvCurve } from '../../../fitting/open-circuit/ocvCurve.ts';
import { slowCurve } from '../../../fitting/open-circuit/slowCurve.ts';

describe('monotoneCurve(x, y)', () => {
  it('goes through its points and never leaves the range between two of them', () => {
    const points = fc.array(
      fc.tuple(fc.double({ min: 0.01, max: 1, noNaN: true }), fc.double({ min: -3, max: 3, noNaN: true })),
      {
        minLength: 2,
        maxLength: 12,
      },
    );
    fc.assert(
      fc.property(points, fc.double({ min: 0, max: 1, noNaN: true }), (steps, share) => {
        let at = 0;
        const x = steps.map(([step]) => (at += step));
        const y = steps.map(([, value]) => value);
        const curve = monotoneCurve(x, y);
        x.forEach((value, i) => {
          expect(curve.at(value)).toBeCloseTo(y[i], 9);
        });
        for (let i = 1; i < x.length; i++) {
          const value = curve.at(x[i - 1] + share * (x[i] - x[i - 1]));
          expect(value).toBeGreaterThanOrEqual(Math.min(y[i - 1], y[i]) - 1e-9);
          expect(value).toBeLessThanOrEqual(Math.max(y[i - 1], y[i]) + 1e-9);
        }
      }),
    );
  });

  it('has the slope of its own values', () => {
    const curve = monotoneCurve([0, 0.2, 0.5, 1], [3, 3.4, 3.6, 4.1]);
    for (const x of [0.1, 0.33, 0.8]) {
      expect(curve.slopeAt(x)).toBeCloseTo((curve.at(x + 1e-6) - curve.at(x - 1e-6)) / 2e-6, 5);
    }
    expect(() => monotoneCurve([0, 0], [1, 2])).toThrow(/does not increase/);
  });
});

describe('ocvCurve(points)', () => {
  const points = [3.3, 3.55, 3.65, 3.8, 4.0, 4.2].map((ocvV, i) => ({
    soc: i / 5,
    ocvV,
    standardUncertaintyV: 1e-3,
  }));

  it('finds the SOC of a voltage and back', () => {
    const curve = ocvCurve(points)!;
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (soc) => {
        expect(curve.socAt(curve.ocvAt(soc), 1e-3).soc).toBeCloseTo(soc, 6);
      }),
    );
    expect(curve.socAt(2.9, 1e-3)).toMatchObject({ soc: 0, outside: true });
  });

  it('is uncertain where the curve is flat, as with lithium iron phosphate', () => {
    const flat = ocvCurve(
      [2.9, 3.25, 3.29, 3.292, 3.33, 3.4].map((ocvV, i) => ({
        soc: i / 5,
        ocvV,
        standardUncertaintyV: 1e-3,
      })),
    )!;
    const steep = ocvCurve(points)!;
    const onFlat = flat.socAt(3.291, 2e-3).standardUncertainty;
    expect(onFlat).toBeGreaterThan(0.08);
    expect(onFlat).toBeLessThanOrEqual(1 / Math.sqrt(12));
    expect(steep.socAt(3.9, 2e-3).standardUncertainty).toBeLessThan(0.005);
    expect(steep.socAt(3.9, 2e-3, 0.03).standardUncertainty).toBeGreaterThan(
      steep.socAt(3.9, 2e-3).standardUncertainty,
    );
  });

  it('levels a voltage that falls with SOC, and needs two SOCs', () => {
    const wavy = ocvCurve([
      { soc: 0, ocvV: 3.5, standardUncertaintyV: 1e-3 },
      { soc: 0.5, ocvV: 3.7, standardUncertaintyV: 1e-3 },
      { soc: 0.6, ocvV: 3.699, standardUncertaintyV: 1e-3 },
    ])!;
    expect([0.5, 0.6].map(wavy.ocvAt)).toEqual([3.6995, 3.6995].map((v) => expect.closeTo(v, 9)));
    expect(ocvCurve([points[0]])).toBeNull();
  });
});

/**
 * A slow discharge and charge of a cell with a straight OCV, hysteresis and polarisation, read with an
 * offset.
 */
function slowRecord(offsetA: number, ohm: number, hysteresisV: number) {
  const n = 2000;
  const rows: [number, number, number][] = [];
  for (let k = 0; k <= n; k++) rows.push([k * 36, 4.2 - (0.8 * k) / n - 0.1 * ohm - hysteresisV / 2, -0.1]);
  for (let k = 0; k <= n; k++) {
    rows.push([(n + 1 + k) * 36, 3.4 + (0.8 * k) / n + 0.1 * ohm + hysteresisV / 2, 0.1]);
  }
  return {
    record: {
      timeS: Float64Array.from(rows, (row) => row[0]),
      voltageV: Float64Array.from(rows, (row) => row[1]),
      currentA: Float64Array.from(rows, (row) => row[2] + offsetA),
    },
    discharge: { start: 0, end: n + 1 },
    charge: { start: n + 1, end: 2 * n + 2 },
  };
}

describe('slowCurve(record, ranges)', () => {
  it('halves hysteresis out and reports it, whatever the offset of the current channel', () => {
    const { record, discharge, charge } = slowRecord(0.005, 0.1, 0.02);
    const slow = slowCurve(record, { discharge, charge }, { points: 11, seriesOhm: 0.1 });
    slow.soc.forEach((soc, i) => {
      expect(slow.ocvV[i]).toBeCloseTo(3.4 + 0.8 * soc, 3);
      expect(slow.hysteresisV[i]).toBeCloseTo(0.02, 2);
    });
    expect(slow.source).toBe('slow-average');
    const found = currentOffset({
      dischargeAh: slow.dischargeAh as number,
      chargeAh: slow.chargeAh as number,
      dischargeS: 72_000,
      chargeS: 72_000,
    });
    expect(found.suspect).toBe(true);
    expect(found.offsetA).toBeCloseTo(0.005, 5);
  });

  it('takes one direction alone, with a wide uncertainty and no hysteresis', () => {
    const { record, discharge } = slowRecord(0, 0, 0.02);
    const slow = slowCurve(record, { discharge }, { points: 11 });
    expect(slow.source).toBe('slow-discharge');
    expect(slow.hysteresisV[5]).toBeNull();
    expect(() => slowCurve(record, {})).toThrow(/needed/);
  });
});
