import { describe, expect, it } from 'vitest';
import { circuitImpedance, type ImpedanceCircuit } from '../../../fitting/impedance/impedanceCircuit.ts';
import { checkKramersKronig } from '../../../fitting/impedance/kramersKronig.ts';
import type { Spectrum } from '../../../fitting/impedance/spectrum.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { logFrequencies, powerCell, spectrumOf } from './syntheticSpectrum.ts';

const frequencies = logFrequencies(6000, 0.005, 8);

/** Each point is measured over three periods; meanwhile both arcs' resistances grow in proportion to the time. */
function drifting(circuit: ImpedanceCircuit, growth: number): Spectrum {
  const totalS = frequencies.reduce((sum, f) => sum + 3 / f, 0);
  let timeS = 0;
  const points = Array.from(frequencies, (f) => {
    timeS += 3 / f;
    const share = 1 + (growth * timeS) / totalS;
    const arcs = circuit.arcs.map((arc) => ({ ...arc, resistanceOhm: arc.resistanceOhm * share }));
    return circuitImpedance({ ...circuit, arcs }, [f]);
  });
  return {
    frequencyHz: frequencies,
    realOhm: Float64Array.from(points, (z) => z.realOhm[0]),
    imaginaryOhm: Float64Array.from(points, (z) => z.imaginaryOhm[0]),
  };
}

describe('the Kramers–Kronig check', () => {
  it('accepts a clean spectrum, with residuals of its scatter', () => {
    const normal = normalSource(seededRandom(1));
    for (let k = 0; k < 20; k++) {
      const checked = checkKramersKronig(spectrumOf(powerCell, frequencies, 0.002, normal));
      expect(checked.verdict).toBe('consistent');
      expect(checked.rmsResidual).toBeLessThan(0.0025);
      expect(checked.mu).toBeLessThanOrEqual(0.85);
    }
  });

  it('rejects the same spectrum of a cell that drifts while it is measured', () => {
    const checked = checkKramersKronig(drifting(powerCell, 0.5));
    expect(checked.verdict).toBe('inconsistent');
    expect(checked.departingHz.length).toBeGreaterThan(0.1 * frequencies.length);
    expect(checkKramersKronig(drifting(powerCell, 0)).verdict).toBe('consistent');
  });

  it('names a single point that was disturbed', () => {
    const spectrum = spectrumOf(powerCell, frequencies, 0.001, normalSource(seededRandom(5)));
    const at = 20;
    spectrum.realOhm[at] *= 1.05;
    const checked = checkKramersKronig(spectrum);
    expect(checked.verdict).toBe('consistent-but-for-points');
    expect(checked.largestAtHz).toBe(frequencies[at]);
    expect(checked.departingHz).toContain(frequencies[at]);
  });

  it('gives the residuals by falling frequency, whatever the order of the points', () => {
    const spectrum = spectrumOf(powerCell, frequencies, 0.002, normalSource(seededRandom(2)));
    const turned = {
      frequencyHz: spectrum.frequencyHz.slice().reverse(),
      realOhm: spectrum.realOhm.slice().reverse(),
      imaginaryOhm: spectrum.imaginaryOhm.slice().reverse(),
    };
    expect(checkKramersKronig(turned)).toEqual(checkKramersKronig(spectrum));
  });

  it('counts frequencies, not points that repeat one another', () => {
    const few = logFrequencies(1000, 100, 3);
    const repeated = Float64Array.from({ length: 24 }, (_, i) => few[i % few.length]);
    const normal = normalSource(seededRandom(4));
    const checked = checkKramersKronig(spectrumOf(powerCell, repeated, 0.002, normal));
    expect(checked.verdict).toBe('too-few-points');
  });

  it('says that too few points tell nothing, and refuses limits that cannot be', () => {
    const few = spectrumOf(powerCell, logFrequencies(1000, 100, 6));
    expect(checkKramersKronig(few)).toMatchObject({ verdict: 'too-few-points', rmsResidual: null });
    expect(() => checkKramersKronig(few, { limit: 0 })).toThrow('limit must be above 0');
    expect(() => checkKramersKronig(few, { mu: 1 })).toThrow('mu must lie between 0 and 1');
  });
});
