import { describe, expect, it } from 'vitest';
import { evaluateImpedance } from '../../server/assess/impedance/evaluateImpedance.ts';
import type { EvaluatedSweep, Sweep } from '../../server/contract/impedance.ts';
import { equalRanges } from '../../web/src/charts/equalScales.ts';
import { spectrumPictures, sweepName } from '../../web/src/pages/test/spectrumPictures.ts';
import { defaultUnits } from '../../web/src/settings/units.ts';
import { impedanceParameterName } from '../../web/src/words/impedance.ts';
import { logFrequencies, powerCell, spectrumOf } from '../fitting/impedance/syntheticSpectrum.ts';

const spectrum = spectrumOf(powerCell, logFrequencies(6000, 0.01, 8));
const sweep: Sweep = {
  position: 0,
  label: 'a',
  soc: 0.5,
  chargeAh: null,
  voltageV: 3.7,
  temperatureC: 25,
  sourceRowFirst: 1,
  sourceRowLast: spectrum.frequencyHz.length,
  frequencyHz: [...spectrum.frequencyHz],
  realOhm: [...spectrum.realOhm],
  imaginaryOhm: [...spectrum.imaginaryOhm],
};
const [evaluated] = evaluateImpedance([{ ...sweep, cell: 'A-1', spectrum }], {}).sweeps as [EvaluatedSweep];

describe('the pictures of a spectrum', () => {
  const pictures = spectrumPictures([{ sweep, evaluated }], defaultUnits);

  it('have −Z″ upward against Z′ with equal scales, in mΩ, each point named by its frequency', () => {
    const { plane } = pictures;
    expect(plane).toMatchObject({
      equalScales: true,
      x: { label: 'Z′', unit: 'mΩ' },
      y: { label: '−Z″', unit: 'mΩ' },
    });
    const last = sweep.frequencyHz.length - 1;
    expect(plane.series[0].points[last]).toEqual({
      x: 1000 * sweep.realOhm[last],
      y: -1000 * sweep.imaginaryOhm[last],
      name: 'a, 50 % SOC: 0.01000 Hz',
    });
    expect(plane.series[0].points[last].y).toBeGreaterThan(0);
  });

  it('have the circuit over the points and 1 kHz marked', () => {
    const [points, circuit, mark] = pictures.plane.series;
    expect(circuit.points).toHaveLength(points.points.length);
    circuit.points.forEach((point, i) => {
      expect(point.x).toBeCloseTo(points.points[i].x, 6);
      expect(point.y).toBeCloseTo(points.points[i].y ?? Number.NaN, 6);
    });
    expect(mark).toMatchObject({
      name: 'a, 50 % SOC: 1 kHz',
      points: [{ x: 1000 * evaluated.at1kHz.realOhm! }],
    });
    expect(pictures.magnitude.lines).toEqual([
      expect.objectContaining({ axis: 'x', at: 1000, name: '1 kHz' }),
    ]);
  });

  it('have magnitude and phase over the logarithm of the frequency, phase negative where capacitive', () => {
    const { magnitude, phase } = pictures;
    expect(magnitude.x).toMatchObject({ unit: 'Hz', scale: 'logarithmic' });
    expect(magnitude.x.ticks?.map(({ name }) => name)).toEqual(['0.01', '0.1', '1', '10', '100', '1000']);
    const [last] = magnitude.series[0].points.slice(-1);
    expect(last.y).toBeCloseTo(1000 * Math.hypot(sweep.realOhm.at(-1)!, sweep.imaginaryOhm.at(-1)!), 12);
    expect(phase.series[0].points[0].y).toBeGreaterThan(0);
    expect(phase.series[0].points.at(-1)?.y).toBeLessThan(0);
  });

  it('have the residuals in percent with the limit of the check', () => {
    const { consistencyResidual, circuitResidual } = pictures;
    expect(consistencyResidual?.lines?.map((line) => line.at)).toEqual([0, 1, -1]);
    expect(consistencyResidual?.series).toHaveLength(2);
    const [real] = circuitResidual?.series ?? [];
    expect(real.points).toHaveLength(sweep.frequencyHz.length);
    expect(real.points.every(({ y }) => Math.abs(y ?? 1) < 1e-6)).toBe(true);
  });

  it('are drawn before the test is evaluated, without circuit and residuals', () => {
    const bare = spectrumPictures([{ sweep, evaluated: null }], defaultUnits);
    expect(bare.plane.series).toHaveLength(1);
    expect([bare.circuitResidual, bare.consistencyResidual]).toEqual([null, null]);
    expect(sweepName({ sweep: { ...sweep, soc: null }, evaluated: null })).toBe('sweep a');
  });
});

describe('axes of equal scale', () => {
  it('widen the closer one at its upper end', () => {
    const x = { min: 20, max: 60, pixels: 400 };
    expect(equalRanges(x, { min: 0, max: 10, pixels: 200 })).toEqual({ x: [20, 60], y: [0, 20] });
    expect(equalRanges(x, { min: 0, max: 40, pixels: 200 })).toEqual({ x: [20, 100], y: [0, 40] });
  });

  it('stay as they are where they are equal, or where there is nothing to see', () => {
    const x = { min: 20, max: 60, pixels: 400 };
    expect(equalRanges(x, { min: 0, max: 20, pixels: 200 })).toBeNull();
    expect(equalRanges(x, { min: 5, max: 5, pixels: 200 })).toBeNull();
  });
});

describe('the name of a circuit parameter', () => {
  it('is in plain words', () => {
    expect(
      ['seriesInductanceH', 'arc2TimeConstantS', 'diffusionCoefficient'].map(impedanceParameterName),
    ).toEqual(['series inductance', 'arc 2 time constant', 'diffusion coefficient']);
  });
});
