import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitLine } from '../../fitting/least-squares/linear/line.ts';
import {
  correlatedMeans,
  propagateUncertainty,
  welchSatterthwaite,
} from '../../fitting/statistics/uncertainty.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// Source: JCGM 100:2008 (GUM), annex H and G.4.
const absent = sharedIsMissing('reference/statistics_reference.json');
const reference = absent
  ? null
  : JSON.parse(readFileSync(sharedPath('reference/statistics_reference.json'), 'utf8'));

describe.skipIf(absent)('GUM H.2: resistance, reactance and impedance from correlated readings', () => {
  const data = reference?.gumH2;
  const readings = absent
    ? null
    : correlatedMeans([data.V, data.I_mA.map((value: number) => value / 1000), data.phi_rad]);
  const model = ([v, i, phi]: Float64Array): number[] => [
    (v / i) * Math.cos(phi),
    (v / i) * Math.sin(phi),
    v / i,
  ];

  it('gives the values, uncertainties and correlations of the three outputs', () => {
    if (!readings) return expect.unreachable();
    const result = propagateUncertainty(model, readings.means, readings.covariance);
    [data.R, data.X, data.Z].forEach((value, k) => {
      expect(result.values[k]).toBeCloseTo(value, 7);
    });
    [data.uR, data.uX, data.uZ].forEach((value, k) => {
      expect(result.standardUncertainties[k]).toBeCloseTo(value, 7);
    });
    expect(result.correlation[0][1]).toBeCloseTo(data.rRX, 6);
    expect(result.correlation[0][2]).toBeCloseTo(data.rRZ, 6);
    expect(result.correlation[1][2]).toBeCloseTo(data.rXZ, 6);
    // As printed.
    expect(result.values.map((value) => value.toFixed(3))).toEqual(['127.732', '219.847', '254.260']);
    expect(result.standardUncertainties.map((u) => u.toFixed(3))).toEqual(['0.071', '0.296', '0.236']);
  });

  it('differs from the wrong answer that ignores the correlations', () => {
    if (!readings) return expect.unreachable();
    const independent = readings.covariance.map((row, i) => row.map((entry, j) => (i === j ? entry : 0)));
    const wrong = propagateUncertainty(model, readings.means, independent);
    expect(wrong.standardUncertainties[0]).toBeCloseTo(0.195, 3);
  });
});

describe.skipIf(absent)('GUM H.3: calibration line of a thermometer', () => {
  const data = reference?.gumH3;
  const shift: number = data?.t0 ?? 0;
  const line = absent
    ? null
    : fitLine(
        Float64Array.from(data.t_degC, (t: number) => t - shift),
        Float64Array.from(data.b_degC),
      );

  it('gives intercept, slope, their uncertainties and correlation', () => {
    if (!line) return expect.unreachable();
    const [intercept, slope] = line.parameters;
    expect(intercept.value).toBeCloseTo(data.y1, 8);
    expect(slope.value).toBeCloseTo(data.y2, 7);
    expect(intercept.standardError).toBeCloseTo(data.u1, 7);
    expect(slope.standardError).toBeCloseTo(data.u2, 8);
    expect(line.correlation?.[0][1]).toBeCloseTo(data.r, 6);
    expect(line.residualSd).toBeCloseTo(data.s, 8);
  });

  it('gives the correction at 30 °C with the covariance, and the wrong one without', () => {
    if (!line) return expect.unreachable();
    const correction = propagateUncertainty(
      ([intercept, slope]) => [intercept + 10 * slope],
      line.parameters.map((parameter) => parameter.value),
      line.covariance ?? [],
    );
    expect(correction.values[0]).toBeCloseTo(data.b30, 7);
    expect(correction.standardUncertainties[0]).toBeCloseTo(data.u_b30, 7);
    const [u1, u2] = line.parameters.map((parameter) => parameter.standardError as number);
    expect(Math.hypot(u1, 10 * u2)).toBeCloseTo(0.0073, 4);
  });
});

describe('GUM G.4.1: effective degrees of freedom', () => {
  it('gives 19.0 for three relative uncertainties 0.25 %, 0.57 %, 0.82 % with 9, 4 and 14 degrees of freedom', () => {
    // The standard prints u_c = 1.03 % and 19.0 (values from memory).
    const result = welchSatterthwaite([
      { standardUncertainty: 0.25, degreesOfFreedom: 9 },
      { standardUncertainty: 0.57, degreesOfFreedom: 4 },
      { standardUncertainty: 0.82, degreesOfFreedom: 14 },
    ]);
    expect(result.combined).toBeCloseTo(1.03, 2);
    expect(result.degreesOfFreedom).toBeCloseTo(19.0, 1);
  });
});
