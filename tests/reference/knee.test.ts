import { describe, expect, it } from 'vitest';
import { fitAgeingModels } from '../../fitting/ageing/fitModels.ts';
import { kneeOf } from '../../fitting/ageing/knee.ts';
import { limitCrossing } from '../../fitting/ageing/limitCrossing.ts';
import { ageingPoints } from '../../fitting/ageing/points.ts';
import { fitTwoSlope } from '../../fitting/ageing/slopeLaws.ts';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';

// Bacon and Watts, Biometrika 58 (1971) 525, as used for knees by Fermín-Cueto et al., Energy and AI 1 (2020) 100006,
// doi:10.1016/j.egyai.2020.100006: a0 0.95, a1 -4.5e-4, a2 -3.0e-4, x1 600, γ 50.
const curve = (x: number): number => 0.95 - 4.5e-4 * (x - 600) - 3e-4 * (x - 600) * Math.tanh((x - 600) / 50);
const cycles = Float64Array.from({ length: 901 }, (_, i) => i);

describe('the two-slope curve with a knee at 600', () => {
  it.each([
    [0, 1.04],
    [300, 0.9950011],
    [550, 0.9610761],
    [600, 0.95],
    [650, 0.9160761],
    [800, 0.8000402],
  ])('is at %d what is published, and so is its fit', (x, y) => {
    const law = fitTwoSlope(ageingPoints(cycles, cycles.map(curve)));
    expect(curve(x)).toBeCloseTo(y, 7);
    expect(law.value(x)).toBeCloseTo(y, 7);
  });

  it('gives back its parameters, its slopes and where it reaches 0.8', () => {
    const law = fitTwoSlope(ageingPoints(cycles, cycles.map(curve)));
    expect(law.parameter('knee')).toBeCloseTo(600, 4);
    expect(law.parameter('width')).toBeCloseTo(50, 4);
    expect(law.parameter('level')).toBeCloseTo(0.95, 8);
    expect(law.parameter('slope') - law.parameter('slopeChange')).toBeCloseTo(-1.5e-4, 9);
    expect(law.parameter('slope') + law.parameter('slopeChange')).toBeCloseTo(-7.5e-4, 9);
    const fine = Float64Array.from({ length: 90001 }, (_, i) => i / 100);
    const crossing = limitCrossing(
      fine,
      fine.map((x) => law.value(x)),
      0.8,
      'below',
    );
    expect(crossing.crossedAt).toBeCloseTo(800.06, 9);
  });

  it('with noise gives a knee whose interval holds 600 in about 95 % of cases', () => {
    const normal = normalSource(seededRandom(4));
    const x = Float64Array.from({ length: 181 }, (_, i) => 5 * i);
    let inside = 0;
    const cases = 60;
    for (let k = 0; k < cases; k++) {
      const knee = kneeOf(
        fitAgeingModels(
          ageingPoints(
            x,
            x.map((at) => curve(at) + 0.001 * normal()),
          ),
        ),
        'capacity',
      );
      expect(knee.reason).toBeNull();
      if ((knee.low ?? 0) <= 600 && 600 <= (knee.high ?? 0)) inside++;
    }
    expect(inside / cases).toBeGreaterThanOrEqual(0.87);
  });
});

describe('no knee is reported', () => {
  const x = Float64Array.from({ length: 300 }, (_, i) => 2 * i);

  it('for a straight line, exact or with noise', () => {
    expect(
      kneeOf(
        fitAgeingModels(
          ageingPoints(
            x,
            x.map((at) => 1 - 2e-4 * at),
          ),
        ),
        'capacity',
      ).reason,
    ).toBe('no-knee');
    const normal = normalSource(seededRandom(9));
    for (let k = 0; k < 30; k++) {
      const y = x.map((at) => 1 - 2e-4 * at + 0.002 * normal());
      expect(kneeOf(fitAgeingModels(ageingPoints(x, y)), 'capacity')).toMatchObject({
        at: null,
        reason: 'no-knee',
      });
    }
  });

  it('for a loss that slows down', () => {
    const y = x.map((at) => 1 - 0.005 * Math.sqrt(at));
    expect(kneeOf(fitAgeingModels(ageingPoints(x, y)), 'capacity').reason).toBe('no-knee');
  });

  it('for three points', () => {
    const few = ageingPoints(Float64Array.of(0, 1, 2), Float64Array.of(1, 0.9, 0.7));
    expect(kneeOf(fitAgeingModels(few), 'capacity').reason).toBe('too-few-points');
  });
});
