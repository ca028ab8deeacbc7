import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { circuitColumns } from '../../../../fitting/circuit/response/circuitColumns.ts';
import { decay } from '../../../../fitting/circuit/response/decay.ts';
import { CircuitGram } from '../../../../fitting/circuit/sums/circuitGram.ts';
import { decayMoments } from '../../../../fitting/circuit/sums/decayMoments.ts';
import { circuitWindow } from '../../../../fitting/circuit/window/circuitWindow.ts';
import { seededRandom } from '../../../../fitting/statistics/random.ts';

describe('decay(z)', () => {
  it('is exp(−z) to a few units in the last place', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 39.9, noNaN: true }), (z) => {
        expect(Math.abs(decay(z) / Math.exp(-z) - 1)).toBeLessThan(1e-15);
      }),
    );
    expect(decay(0)).toBe(1);
    expect(decay(40)).toBe(0);
    expect(decay(1e9)).toBe(0);
  });
});

describe('decayMoments(ratio, count)', () => {
  it('equals the sums term by term, also next to 1', () => {
    const ratio = fc.oneof(
      fc.double({ min: 0, max: 1, noNaN: true }),
      fc.double({ min: 1 - 1e-6, max: 1, noNaN: true }),
    );
    fc.assert(
      fc.property(ratio, fc.integer({ min: 1, max: 700 }), (r, m) => {
        const sums = [0, 0, 0];
        for (let k = m; k >= 1; k--) {
          const power = r ** k;
          sums[0] += power;
          sums[1] += k * power;
          sums[2] += k * k * power;
        }
        const out = new Float64Array(3);
        decayMoments(r, m, out, 0);
        for (let i = 0; i < 3; i++) expect(Math.abs(out[i] - sums[i])).toBeLessThanOrEqual(1e-12 * sums[i]);
      }),
    );
  });
});

/** A record whose intervals and currents are equal, unequal, noisy, or all three in turn. */
function madeUp(seed: number, mode: 'uniform' | 'any' | 'noisy' | 'mixed', lagged = false) {
  const random = seededRandom(seed);
  const n = 300;
  const [timeS, currentA, voltageV] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  for (let k = 0; k < n; k++) {
    const equal = mode === 'uniform' || mode === 'noisy' || (mode === 'mixed' && k < 150);
    // To the microsecond, as recorders have finite digits; the kernel takes intervals alike that agree to a nanosecond.
    timeS[k] = k === 0 ? 0 : Math.round(1e6 * (timeS[k - 1] + (equal ? 0.1 : 0.3 * random()))) / 1e6;
    currentA[k] = k < 20 || k >= 160 ? 0 : -3;
    if (mode === 'noisy' || (mode === 'mixed' && k > 220)) currentA[k] += 0.01 * (random() - 0.5);
    voltageV[k] = 3.7 + 0.03 * currentA[k] + 0.01 * random();
  }
  return circuitWindow({
    timeS,
    currentA,
    voltageV,
    sharpRows: seed % 2 === 0 ? [20, 160] : [],
    firstScored: seed % 3 === 0 ? 11 : 0,
    ignored: seed % 5 === 0 ? [{ start: 160, end: 164 }] : [],
    ...(lagged
      ? {
          channelLag: {
            lagS: 0.02,
            blocks: [
              { start: 20, end: 27 },
              { start: 160, end: 168 },
            ],
          },
        }
      : {}),
  });
}

describe('CircuitGram.accumulate(logTau, gram)', () => {
  it('gives the sums of products of the columns, whatever the runs', () => {
    const cases = fc.record({
      seed: fc.integer({ min: 0, max: 200 }),
      mode: fc.constantFrom('uniform', 'any', 'noisy', 'mixed'),
      withSlope: fc.boolean(),
      lagged: fc.boolean(),
      past: fc.constantFrom('none', 'of-branches', 'one-more'),
      taus: fc.array(fc.double({ min: 0.05, max: 60, noNaN: true }), { minLength: 2, maxLength: 4 }),
    });
    fc.assert(
      fc.property(cases, ({ seed, mode, withSlope, lagged, past, taus }) => {
        const window = madeUp(seed, mode, lagged);
        const branches = taus.length - 1;
        const history = { none: 0, 'of-branches': branches, 'one-more': branches + 1 }[past];
        const shape = { branches, withSlope, history };
        const n = branches + history;
        const p = (withSlope ? 3 : 2) + n;
        const side = p + n + 1;
        const gram = new Float64Array(side * side);
        const logTau = Float64Array.from(taus, Math.log);
        new CircuitGram(window, shape).accumulate(logTau, gram);
        const make = (count: number) =>
          Array.from({ length: count }, () => new Float64Array(window.scoredRows));
        const [basis, derivatives] = [make(p), make(n)];
        const model = circuitColumns(window, shape);
        model.fill(logTau, basis, derivatives, true);
        const columns = [...basis, ...derivatives, model.y];
        for (let i = 0; i < side; i++) {
          for (let j = i; j < side; j++) {
            let sum = 0;
            let size = 0;
            columns[i].forEach((value, k) => {
              sum += value * columns[j][k];
              size += Math.abs(value * columns[j][k]);
            });
            expect(Math.abs(gram[i * side + j] - sum)).toBeLessThanOrEqual(2e-8 * size + 1e-12);
          }
        }
      }),
      { numRuns: 150 },
    );
  });

  it('has the derivatives of the branch currents to the logarithms of the time constants', () => {
    const window = madeUp(4, 'mixed');
    const column = (logTau: number) => {
      const basis = [0, 1, 2].map(() => new Float64Array(window.scoredRows));
      const derivatives = [new Float64Array(window.scoredRows)];
      circuitColumns(window, { branches: 1, withSlope: false, history: 0 }).fill(
        Float64Array.of(logTau),
        basis,
        derivatives,
        true,
      );
      return { u: basis[2], d: derivatives[0] };
    };
    const h = 1e-5;
    const [low, high, here] = [column(1 - h), column(1 + h), column(1)];
    here.d.forEach((value, k) => {
      expect(value).toBeCloseTo((high.u[k] - low.u[k]) / (2 * h), 8);
    });
  });
});

describe('circuitWindow(samples)', () => {
  it('refuses lengths that differ, too few rows and time that runs backwards', () => {
    const two = Float64Array.of(0, 1);
    expect(() => circuitWindow({ timeS: two, currentA: two, voltageV: Float64Array.of(1) })).toThrow(
      RangeError,
    );
    expect(() =>
      circuitWindow({
        timeS: Float64Array.of(0),
        currentA: Float64Array.of(0),
        voltageV: Float64Array.of(1),
      }),
    ).toThrow(/two rows/);
    expect(() => circuitWindow({ timeS: Float64Array.of(1, 0), currentA: two, voltageV: two })).toThrow(
      /backwards/,
    );
  });
});
