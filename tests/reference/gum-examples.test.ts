import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitLine } from '../../fitting/least-squares/linear/line.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// Source: JCGM 100:2008 (GUM), annex H.
const absent = sharedIsMissing('reference/statistics_reference.json');
const reference = absent
  ? null
  : JSON.parse(readFileSync(sharedPath('reference/statistics_reference.json'), 'utf8'));

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
    // The correction at 30 °C, 10 K off the mean of the readings: its uncertainty needs the covariance.
    expect(intercept.value + 10 * slope.value).toBeCloseTo(data.b30, 7);
    const c = line.covariance ?? [];
    expect(Math.sqrt(c[0][0] + 20 * c[0][1] + 100 * c[1][1])).toBeCloseTo(data.u_b30, 7);
  });
});
