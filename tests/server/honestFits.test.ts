import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { evaluateImpedance } from '../../server/assess/impedance/evaluateImpedance.ts';
import { logFrequencies, powerCell, spectrumOf } from '../fitting/impedance/syntheticSpectrum.ts';

/**
 * As `honestUncertainties.test.ts`, for fits over many measurements: no stated uncertainty may be smaller than what noise, resolution and
 * number of the points allow. Half of it is asked for, because noise and steps are estimated.
 */
const SHARE = 0.5;
const seeded = { seed: 20_261_130, verbose: true };

/** The least standard uncertainty of a level that is read n times with noise σ in steps of q. */
function leastOf(noise: number, step: number, rows: number): number {
  const unblurred = step > 4 * noise ? step / Math.sqrt(12) : 0;
  return SHARE * Math.max(noise / Math.sqrt(rows), unblurred / Math.sqrt(rows));
}

describe('no stated uncertainty of a fit is below what its points allow', () => {
  it('of an impedance spectrum: |Z| at 1 kHz and the series resistance', { timeout: 60_000 }, () => {
    const made = fc.record({
      seed: fc.integer({ min: 1, max: 1e6 }),
      perDecade: fc.constantFrom(5, 10),
      scatter: fc.constantFrom(1e-5, 1e-3, 1e-2),
      stepOhm: fc.constantFrom(0, 1e-5, 1e-4),
    });
    fc.assert(
      fc.property(made, ({ seed, perDecade, scatter, stepOhm }) => {
        const normal = normalSource(seededRandom(seed));
        const exact = spectrumOf(powerCell, logFrequencies(5000, 0.02, perDecade), scatter, normal);
        const round = (value: number) => (stepOhm > 0 ? Math.round(value / stepOhm) * stepOhm : value);
        const spectrum = {
          ...exact,
          realOhm: exact.realOhm.map(round),
          imaginaryOhm: exact.imaginaryOhm.map(round),
        };
        const sweep = {
          spectrum,
          cell: null,
          label: '',
          soc: null,
          chargeAh: null,
          voltageV: null,
          temperatureC: 25,
        };
        const [found] = evaluateImpedance([sweep], {}).sweeps;
        const points = 2 * spectrum.frequencyHz.length;
        const { magnitudeOhm, standardUncertaintyOhm } = found.at1kHz;
        if (magnitudeOhm !== null && standardUncertaintyOhm !== null)
          // Two values a point, within a decade.
          expect(standardUncertaintyOhm).toBeGreaterThan(
            leastOf(scatter * magnitudeOhm, stepOhm, 2 * perDecade),
          );
        for (const { name, value, standardError } of found.circuit?.parameters ?? []) {
          if (name !== 'seriesResistanceOhm' || standardError === null) continue;
          expect(standardError).toBeGreaterThan(leastOf(scatter * Math.abs(value), stepOhm, points));
        }
      }),
      { ...seeded, numRuns: 25 },
    );
  });

  it('of a fade: its first value, its crossing and its forecast', { timeout: 60_000 }, () => {
    const made = fc.record({
      seed: fc.integer({ min: 1, max: 1e6 }),
      rows: fc.constantFrom(8, 20, 200),
      share: fc.constantFrom(0.5, 0.9, 1.2),
      noiseAh: fc.constantFrom(1e-4, 3e-3, 2e-2),
      stepAh: fc.constantFrom(0, 1e-3, 2e-2),
    });
    fc.assert(
      fc.property(made, ({ seed, rows, share, noiseAh, stepAh }) => {
        const normal = normalSource(seededRandom(seed));
        const lifeCycles = 1000;
        const slope = 0.5 / lifeCycles;
        const spacing = (share * lifeCycles) / rows;
        const x = Float64Array.from({ length: rows }, (_, k) => (k + 1) * spacing);
        const capacityAh = x.map((at) => {
          const exact = 2.5 - slope * at + noiseAh * normal();
          return stepAh > 0 ? Math.round(exact / stepAh) * stepAh : exact;
        });
        const [cell] = evaluateAgeingTable([{ cell: 'A', x, capacityAh, resistanceOhm: null }], {
          quantity: 'capacity',
          limits: [{ quantity: 'capacity', basis: 'absolute', value: 2 }],
        }).cells;
        const least = leastOf(noiseAh, stepAh, rows);
        const model = cell.models.find(({ name }) => name === cell.chosen);
        const first = model?.standardErrors.initial ?? model?.standardErrors.level ?? null;
        if (first !== null) expect(first).toBeGreaterThan(least);
        const [{ crossedAt, crossedBetween, forecast }] = cell.limits;
        if (crossedAt !== null && crossedBetween != null && crossedBetween.low !== null)
          expect(crossedBetween.high - crossedBetween.low).toBeGreaterThanOrEqual(0.999 * spacing);
        const { low, high } = forecast;
        // 80 % are 1.28 standard deviations on either side; the time of a crossing is the level's error over the slope.
        if (low !== null && high !== null) {
          expect(low).toBeGreaterThanOrEqual(x[rows - 1]);
          // What would lie before the last measurement is cut off.
          if (share < 1) expect(high - low).toBeGreaterThan((2 * 1.28 * least) / slope);
        }
      }),
      { ...seeded, numRuns: 25 },
    );
  });
});
