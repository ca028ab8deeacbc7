import { describe, expect, it } from 'vitest';
import { circuitImpedance, type ImpedanceCircuit } from '../../fitting/impedance/impedanceCircuit.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateImpedance } from '../../server/assess/impedance/evaluateImpedance.ts';
import type { EvaluatedSweep } from '../../server/contract/impedance.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readTable } from '../../server/import/readTableFile.ts';
import { readSpectra } from '../../server/import/spectrumTable.ts';
import { logFrequencies, powerCell } from '../fitting/impedance/syntheticSpectrum.ts';

interface Noise {
  /** As a fraction of |Z| at all frequencies. */
  readonly relative?: number;
  /** In Ω, alike at all frequencies. */
  readonly absoluteOhm?: number;
  /** As a fraction of |Z| at the lowest frequencies, falling above 0.1 Hz. */
  readonly slow?: number;
}

const frequencies = logFrequencies(10_000, 0.01, 8);

/** A table as an instrument writes it, read and evaluated as the command does it. */
async function evaluated(
  circuit: ImpedanceCircuit,
  noise: Noise,
  seed: number,
  { at = frequencies, fitFromHz }: { readonly at?: Float64Array; readonly fitFromHz?: number } = {},
): Promise<EvaluatedSweep> {
  const normal = normalSource(seededRandom(seed));
  const z = circuitImpedance(circuit, at);
  const rows = Array.from(at, (f, i) => {
    const size = Math.hypot(z.realOhm[i], z.imaginaryOhm[i]);
    const sd = Math.hypot(
      (noise.relative ?? 0) * size,
      noise.absoluteOhm ?? 0,
      ((noise.slow ?? 0) * size) / (1 + f / 0.1),
    );
    return [f, 1000 * (z.realOhm[i] + sd * normal()), -1000 * (z.imaginaryOhm[i] + sd * normal())].join(',');
  });
  const text = `frequency_Hz,Re(Z)_mohm,-Im(Z)_mohm\n${rows.join('\n')}\n`;
  const { sweeps } = readSpectra(await readTable(bufferSource(new TextEncoder().encode(text))));
  return evaluateImpedance(sweeps, { fitFromHz }).sweeps[0];
}

const truths: Record<string, number | null> = {
  seriesInductanceH: powerCell.seriesInductanceH,
  seriesResistanceOhm: powerCell.seriesResistanceOhm,
  diffusionCoefficient: powerCell.diffusionCoefficient,
  arc1ResistanceOhm: powerCell.arcs[0].resistanceOhm,
  arc1TimeConstantS: powerCell.arcs[0].timeConstantS,
  arc1Exponent: powerCell.arcs[0].exponent,
  arc2ResistanceOhm: powerCell.arcs[1].resistanceOhm,
  arc2TimeConstantS: powerCell.arcs[1].timeConstantS,
  arc2Exponent: powerCell.arcs[1].exponent,
};

/** Where the imaginary part of the power cell is zero, by bisection. */
function trueIntercept(): number {
  let [low, high] = [100, 10_000];
  for (let k = 0; k < 60; k++) {
    const middle = Math.sqrt(low * high);
    if (circuitImpedance(powerCell, [middle]).imaginaryOhm[0] > 0) high = middle;
    else low = middle;
  }
  return circuitImpedance(powerCell, [low]).realOhm[0];
}

describe('the 95 % intervals of a spectrum', () => {
  it.each<[string, Noise]>([
    ['in proportion to |Z|', { relative: 0.002 }],
    ['alike at all frequencies', { absoluteOhm: 5e-5 }],
    ['larger at low frequencies', { relative: 0.001, slow: 0.005 }],
  ])('hold the circuit’s parameters, |Z| at 1 kHz and the intercept: noise %s', async (_, noise) => {
    const z = circuitImpedance(powerCell, [1000]);
    const compared: { name: string; error: number; uncertainty: number }[] = [];
    const compare = (name: string, value: number | null, uncertainty: number | null, truth: number) => {
      if (value !== null && uncertainty !== null) compared.push({ name, error: value - truth, uncertainty });
    };
    for (let seed = 0; seed < 20; seed++) {
      const { at1kHz, intercept, circuit } = await evaluated(powerCell, noise, 500 + seed);
      compare(
        'at1kHz',
        at1kHz.magnitudeOhm,
        at1kHz.standardUncertaintyOhm,
        Math.hypot(z.realOhm[0], z.imaginaryOhm[0]),
      );
      compare('intercept', intercept.resistanceOhm, intercept.standardUncertaintyOhm, trueIntercept());
      if (circuit === null || circuit.arcs !== 2 || !circuit.diffusionTail) continue;
      for (const { name, value, standardError } of circuit.parameters)
        compare(name, value, standardError, truths[name] ?? Number.NaN);
    }
    const outside = compared.filter(({ error, uncertainty }) => Math.abs(error) > 1.96 * uncertainty);
    expect(compared.length).toBeGreaterThan(140);
    expect(outside.length / compared.length).toBeLessThan(0.09);
    expect(compared.filter(({ error, uncertainty }) => Math.abs(error) > 3.5 * uncertainty)).toEqual([]);
  });

  it('are withheld where the cell has an arc more than the circuit', async () => {
    const [quick, slow] = powerCell.arcs;
    const three = {
      ...powerCell,
      arcs: [
        { ...quick, timeConstantS: 0.0003 },
        { ...quick, timeConstantS: 0.005 },
        { ...slow, timeConstantS: 0.3 },
      ],
    };
    const { circuit, consistency } = await evaluated(three, { relative: 0.001 }, 1);
    expect(consistency.verdict).toBe('consistent');
    expect(circuit?.parameters.map(({ standardError, reason }) => [standardError, reason])).toEqual(
      Array.from({ length: 9 }, () => [null, 'residuals-correlated']),
    );
  });

  it('are withheld where the spectrum does not obey Kramers–Kronig', async () => {
    const spectrum = await evaluated(powerCell, { relative: 0.03 }, 1);
    expect(spectrum.consistency.verdict).toBe('inconsistent');
    for (const { standardError } of spectrum.circuit?.parameters ?? []) expect(standardError).toBeNull();
    expect(spectrum.circuit?.parameters.map(({ reason }) => reason)).toContain('spectrum-inconsistent');
  });

  it.each([30, 10, 1])(
    'are withheld, or hold, where a sweep ends at %i Hz, before the slow arc or the tail',
    async (endHz) => {
      const at = logFrequencies(10_000, endHz, 8);
      const given: { name: string; inUncertainties: number }[] = [];
      let series = 0;
      for (const relative of [0.001, 0.003]) {
        for (let seed = 0; seed < 12; seed++) {
          const { circuit } = await evaluated(powerCell, { relative }, 900 + seed, { at });
          for (const { name, value, standardError } of circuit?.parameters ?? []) {
            if (standardError === null) continue;
            given.push({
              name,
              inUncertainties: Math.abs(value - (truths[name] ?? Number.NaN)) / standardError,
            });
            if (name === 'seriesResistanceOhm') series++;
          }
        }
      }
      const far = given.filter(({ inUncertainties }) => !(inUncertainties < 3.5));
      expect(far.length).toBeLessThan(0.015 * given.length);
      expect(far.filter(({ inUncertainties }) => !(inUncertainties < 5))).toEqual([]);
      if (endHz === 1) expect(series).toBeGreaterThan(18);
    },
  );

  it('are given where only the points that are left out of the circuit do not obey them', async () => {
    // Below 1 Hz the cell changed during the sweep.
    const drifting = { relative: 0.001, slow: 0.2 };
    const whole = await evaluated(powerCell, drifting, 3);
    expect(whole.consistency.verdict).toBe('inconsistent');
    expect(whole.circuit?.parameters.map(({ standardError }) => standardError)).not.toContainEqual(
      expect.any(Number),
    );
    const part = await evaluated(powerCell, drifting, 3, { fitFromHz: 1 });
    expect(part.consistency.verdict).toBe('inconsistent');
    const series = part.circuit?.parameters.find(({ name }) => name === 'seriesResistanceOhm');
    expect(series?.standardError).toBeGreaterThan(0);
  });
});
