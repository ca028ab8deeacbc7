import { describe, expect, it } from 'vitest';
import {
  fitTemperature,
  reduceResistance,
  temperatureFactor,
} from '../../../fitting/resistance/temperatureDependence.ts';

const at = (temperatureC: number, valueOhm: number, standardUncertaintyOhm?: number) => ({
  temperatureC,
  valueOhm,
  standardUncertaintyOhm,
});
const truth = (temperatureC: number) => 0.03 * temperatureFactor(30_000, 25, temperatureC);

describe('fitTemperature(points)', () => {
  it('returns the activation energy and the resistance at the reference', () => {
    const fit = fitTemperature([-10, 0, 10, 25, 40].map((t) => at(t, truth(t))));
    expect(fit?.activationJPerMol).toBeCloseTo(30_000, 4);
    expect(fit?.referenceOhm).toBeCloseTo(0.03, 10);
    expect(fit?.fallsThroughout).toBe(true);
  });

  it('does not force resistances to fall with temperature, and says when they do not', () => {
    const fit = fitTemperature([at(5, 0.0107), at(20, 0.0082), at(40, 0.0088)]);
    expect(fit?.fallsThroughout).toBe(false);
    expect(fit?.largestDeviation).toBeGreaterThan(0.05);
  });

  it('needs two temperatures', () => {
    expect(fitTemperature([at(25, 0.03), at(25, 0.031)])).toBeNull();
    expect(() => fitTemperature([at(25, 0), at(20, 1)])).toThrow(/above 0/);
  });
});

describe('reduceResistance(fit, measured, to)', () => {
  const fit = fitTemperature([0, 10, 25, 40].map((t) => at(t, truth(t) * (t === 10 ? 1.02 : 1), 3e-4)));

  it('carries a resistance to the reference with its uncertainty', () => {
    const reduced = reduceResistance(fit!, at(10, truth(10), 2e-4), 25, 0.5);
    expect(reduced.valueOhm / 0.03).toBeCloseTo(1, 1);
    expect(reduced.standardUncertaintyOhm).toBeGreaterThan(0);
    expect(reduced.extrapolated).toBe(false);
  });

  it('flags what lies outside the measured temperatures', () => {
    expect(reduceResistance(fit!, at(-20, 0.2), 25).extrapolated).toBe(true);
    expect(reduceResistance(fit!, at(25, 0.03), 60).extrapolated).toBe(true);
  });
});
