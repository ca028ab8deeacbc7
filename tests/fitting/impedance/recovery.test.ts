import { describe, expect, it } from 'vitest';
import { chooseImpedanceCircuit } from '../../../fitting/impedance/chooseImpedanceCircuit.ts';
import { fitImpedanceCircuit } from '../../../fitting/impedance/fitImpedanceCircuit.ts';
import { tQuantile } from '../../../fitting/statistics/distributions.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { logFrequencies, powerCell, spectrumOf } from './syntheticSpectrum.ts';

const frequencies = logFrequencies(10_000, 0.01, 8);
const truth: Readonly<Record<string, number>> = {
  seriesInductanceH: powerCell.seriesInductanceH,
  seriesResistanceOhm: powerCell.seriesResistanceOhm,
  diffusionCoefficient: powerCell.diffusionCoefficient ?? Number.NaN,
  arc1ResistanceOhm: powerCell.arcs[0].resistanceOhm,
  arc1TimeConstantS: powerCell.arcs[0].timeConstantS,
  arc1Exponent: powerCell.arcs[0].exponent,
  arc2ResistanceOhm: powerCell.arcs[1].resistanceOhm,
  arc2TimeConstantS: powerCell.arcs[1].timeConstantS,
  arc2Exponent: powerCell.arcs[1].exponent,
};

describe('a circuit fitted to its own spectrum', () => {
  it('has every parameter to nine digits where nothing scatters', () => {
    const fit = fitImpedanceCircuit(spectrumOf(powerCell, frequencies), { arcs: 2, withTail: true });
    for (const { name, value } of fit.parameters) expect(value / truth[name], name).toBeCloseTo(1, 9);
  });

  it('has its parameters within their 95 % intervals in 92 to 98 % of 1,000 cases with 0.2 % of scatter', () => {
    const normal = normalSource(seededRandom(20_14));
    const inside = new Map(Object.keys(truth).map((name) => [name, 0]));
    for (let k = 0; k < 1000; k++) {
      const spectrum = spectrumOf(powerCell, frequencies, 0.002, normal);
      const fit = fitImpedanceCircuit(spectrum, { arcs: 2, withTail: true });
      const factor = tQuantile(0.975, fit.points - fit.freeParameters);
      for (const { name, value, standardError } of fit.parameters) {
        const held = standardError !== null && Math.abs(value - truth[name]) <= factor * standardError;
        if (held) inside.set(name, (inside.get(name) ?? 0) + 1);
      }
    }
    for (const [name, count] of inside) {
      expect(count / 1000, name).toBeGreaterThanOrEqual(0.92);
      expect(count / 1000, name).toBeLessThanOrEqual(0.98);
    }
  });

  it('has its scatter as the residual standard deviation', () => {
    const spectrum = spectrumOf(powerCell, frequencies, 0.005, normalSource(seededRandom(7)));
    const fit = fitImpedanceCircuit(spectrum, { arcs: 2, withTail: true });
    expect(fit.residualSd).toBeGreaterThan(0.004);
    expect(fit.residualSd).toBeLessThan(0.006);
  });

  it('is chosen by AICc with the arcs and the tail that are there', () => {
    const normal = normalSource(seededRandom(3));
    const circuits = [
      { ...powerCell, arcs: [], diffusionCoefficient: null },
      { ...powerCell, arcs: powerCell.arcs.slice(1), diffusionCoefficient: null },
      { ...powerCell, diffusionCoefficient: null },
      { ...powerCell, arcs: powerCell.arcs.slice(1) },
      powerCell,
    ];
    for (const circuit of circuits) {
      let right = 0;
      for (let k = 0; k < 20; k++) {
        const { fit } = chooseImpedanceCircuit(spectrumOf(circuit, frequencies, 0.002, normal));
        const withTail = circuit.diffusionCoefficient !== null;
        if (fit?.arcs === circuit.arcs.length && fit.withTail === withTail) right++;
      }
      expect(right).toBeGreaterThanOrEqual(18);
    }
  });

  it('is the smallest where it leaves nothing: what rounding leaves does not earn another element', () => {
    for (let k = 1; k <= 40; k++) {
      const realOhm = new Float64Array(20).fill(k / 300);
      const spectrum = {
        frequencyHz: logFrequencies(1000, 0.1, 4.75),
        realOhm,
        imaginaryOhm: new Float64Array(20),
      };
      const { fit } = chooseImpedanceCircuit(spectrum);
      expect([fit?.arcs, fit?.withTail], `${k / 300} ohm`).toEqual([0, false]);
    }
  });

  it('is not found from points that repeat one another', () => {
    const repeated = new Float64Array(20).fill(10);
    const { fit, candidates } = chooseImpedanceCircuit(spectrumOf(powerCell, repeated));
    expect(fit).toBeNull();
    expect(candidates.map(({ reason }) => reason)).toEqual(Array(6).fill('too-few-points'));
  });

  it('is told as missing, each contender with its reason, where the points are too few', () => {
    const spectrum = spectrumOf(powerCell, Float64Array.of(1000, 500));
    const { fit, candidates } = chooseImpedanceCircuit(spectrum);
    expect(fit).toBeNull();
    expect(candidates.map(({ reason }) => reason)).toEqual(Array(6).fill('too-few-points'));
    expect(() => fitImpedanceCircuit(spectrum, { arcs: 1 })).toThrow(
      '2 points are too few for the 5 parameters',
    );
    expect(() => fitImpedanceCircuit(spectrum, { arcs: 3 })).toThrow('arcs is 3; it is 0 to 2');
  });
});
