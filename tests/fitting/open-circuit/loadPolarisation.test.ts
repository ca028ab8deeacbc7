import { describe, expect, it } from 'vitest';
import { loadPolarisation } from '../../../fitting/open-circuit/loadPolarisation.ts';
import { seededRandom } from '../../../fitting/statistics/random.ts';

/** A rest after 10 A of discharge: 1.5 mΩ at once, 1 mΩ with 30 s, 1.2 mΩ with 700 s, sampled each minute, 1 mV steps. */
function rest(lengthS: number, quantumV: number): { timeS: Float64Array; voltageV: Float64Array } {
  const random = seededRandom(5);
  const timeS = Float64Array.from({ length: lengthS / 60 }, (_, i) => 60 * (i + 1));
  const voltageV = timeS.map((t) => {
    const exact = 3.9 - 0.01 * Math.exp(-t / 30) - 0.012 * Math.exp(-t / 700) + 1e-4 * (random() - 0.5);
    return quantumV === 0 ? exact : Math.round(exact / quantumV) * quantumV;
  });
  return { timeS, voltageV };
}

describe('the polarisation of a long load, as the rest after it shows it', () => {
  it('is the whole voltage given back over the current, with the time constant of its slow part', () => {
    const loadV = 3.9 - 10 * 0.0037;
    for (const quantumV of [0, 0.001]) {
      const { timeS, voltageV } = rest(3600, quantumV);
      const found = loadPolarisation(timeS, voltageV, loadV, -10, 3e-4);
      expect(found?.resistanceOhm).toBeCloseTo(0.0037, 4);
      expect((found?.tauS ?? 0) / 700).toBeGreaterThan(0.8);
      expect((found?.tauS ?? 0) / 700).toBeLessThan(1.25);
      expect(found?.standardUncertaintyOhm).toBeCloseTo((Math.SQRT2 * 3e-4) / 10, 9);
    }
  });

  it('gives no time constant where the rest has none, and nothing where the voltage went the wrong way', () => {
    const timeS = Float64Array.from({ length: 30 }, (_, i) => 60 * (i + 1));
    const flat = new Float64Array(30).fill(3.9);
    expect(loadPolarisation(timeS, flat, 3.87, -10, 3e-4)?.tauS).toBeNull();
    expect(loadPolarisation(timeS, flat, 3.95, -10, 3e-4)).toBeNull();
  });
});
