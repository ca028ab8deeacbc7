import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { AGEING_MODEL_NAMES, AGEING_MODELS, fitAgeingModels } from '../../../fitting/ageing/fitModels.ts';
import type { AgeingModelName } from '../../../fitting/ageing/lawFit.ts';
import { ageingPoints } from '../../../fitting/ageing/points.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const truths: Record<AgeingModelName, { curve: (x: number) => number; parameters: Record<string, number> }> =
  {
    linear: { curve: (x) => 1.1 - 3e-4 * x, parameters: { initial: 1.1, slope: -3e-4 } },
    'square-root': {
      curve: (x) => 1.1 - 8e-3 * Math.sqrt(x),
      parameters: { initial: 1.1, coefficient: -8e-3 },
    },
    power: {
      curve: (x) => 1.1 - 2e-4 * x ** 1.2,
      parameters: { initial: 1.1, coefficient: -2e-4, exponent: 1.2 },
    },
    'exponential-linear': {
      curve: (x) => 1.1 - 2e-4 * x - 0.06 * (1 - Math.exp(-x / 60)),
      parameters: { initial: 1.1, slope: -2e-4, amplitude: -0.06, scale: 60 },
    },
    'two-slope': {
      curve: (x) => 1 - 5e-4 * (x - 250) - 3e-4 * (x - 250) * Math.tanh((x - 250) / 30),
      parameters: { level: 1, slope: -5e-4, slopeChange: -3e-4, knee: 250, width: 30 },
    },
    'three-slope': {
      curve: (x) =>
        1 -
        5e-4 * (x - 120) -
        1e-4 * (x - 120) * Math.tanh((x - 120) / 20) -
        3e-4 * (x - 280) * Math.tanh((x - 280) / 20),
      parameters: {
        level: 1,
        slope: -5e-4,
        onsetSlopeChange: -1e-4,
        kneeSlopeChange: -3e-4,
        onset: 120,
        knee: 280,
        width: 20,
      },
    },
  };
const x = Float64Array.from({ length: 400 }, (_, i) => i + 1);

describe.each(AGEING_MODEL_NAMES)('the model %s', (name) => {
  const { curve, parameters } = truths[name];

  it('gives back its parameters from exact data', () => {
    const law = AGEING_MODELS[name].fit(ageingPoints(x, x.map(curve)));
    expect(law.parameters.map((p) => p.name)).toEqual(Object.keys(parameters));
    for (const [key, value] of Object.entries(parameters))
      expect(law.parameter(key) / value, key).toBeCloseTo(1, 4);
    expect(() => law.parameter('none')).toThrow(/has no parameter "none"/);
  });

  it('lies within four of its own standard errors of the truth with noise', () => {
    const normal = normalSource(seededRandom(21));
    const law = AGEING_MODELS[name].fit(
      ageingPoints(
        x,
        x.map((at) => curve(at) + 5e-4 * normal()),
      ),
    );
    for (const { name: key, value, standardError } of law.parameters) {
      expect(standardError, key).not.toBeNull();
      expect(Math.abs(value - parameters[key]) / (standardError ?? 1), key).toBeLessThan(4);
    }
    expect(law.fit.residualSd).toBeCloseTo(5e-4, 4);
  });

  it('has a slope and a gradient that agree with differences', () => {
    const normal = normalSource(seededRandom(22));
    const law = AGEING_MODELS[name].fit(
      ageingPoints(
        x,
        x.map((at) => curve(at) + 5e-4 * normal()),
      ),
    );
    for (const at of [40, 200, 390, 600]) {
      const difference = (law.value(at + 0.01) - law.value(at - 0.01)) / 0.02;
      expect(law.slope(at), `slope at ${at}`).toBeCloseTo(difference, 8);
      expect(law.gradient(at)).toHaveLength(law.fit.parameters.length);
      expect(law.variance(at) ?? -1, `variance at ${at}`).toBeGreaterThan(0);
    }
    // An extrapolation is less sure than the middle of the data.
    expect(law.variance(1200) ?? 0).toBeGreaterThan(law.variance(200) ?? Infinity);
  });

  it('gives the same curve whatever unit the value is in', () => {
    const normal = normalSource(seededRandom(23));
    const y = x.map((at) => curve(at) + 5e-4 * normal());
    const plain = AGEING_MODELS[name].fit(ageingPoints(x, y));
    const milli = AGEING_MODELS[name].fit(
      ageingPoints(
        x,
        y.map((value) => 1000 * value),
      ),
    );
    for (const at of [1, 100, 399]) expect(milli.value(at) / (1000 * plain.value(at))).toBeCloseTo(1, 7);
  });

  it('weighs a doubled point like two points', () => {
    const normal = normalSource(seededRandom(24));
    const y = x.map((at) => curve(at) + 5e-4 * normal());
    const weights = x.map((_, i) => (i % 7 === 0 ? 2 : 1));
    const weighted = AGEING_MODELS[name].fit(ageingPoints(x, y, weights));
    const expected = x.reduce((sum, at, i) => sum + weights[i] * (y[i] - weighted.value(at)) ** 2, 0);
    expect(weighted.residualSumOfSquares / expected).toBeCloseTo(1, 6);
  });
});

describe('the exponential law', () => {
  it('finds the accelerating form, and the same on unequal positions', () => {
    const curve = (at: number): number => 1.1 - 1e-4 * at - 2e-3 * (Math.exp(at / 90) - 1);
    const uneven = x.filter((_, i) => i % 3 !== 1);
    for (const positions of [x, uneven]) {
      const law = AGEING_MODELS['exponential-linear'].fit(ageingPoints(positions, positions.map(curve)));
      expect(law.parameter('scale')).toBeCloseTo(-90, 4);
      expect(law.parameter('amplitude')).toBeCloseTo(2e-3, 8);
      expect(law.parameter('initial')).toBeCloseTo(1.1, 8);
    }
  });

  it('reaches no higher sum of squares than a fine grid of rates does', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1000 }),
        fc.double({ min: 0.05, max: 0.4, noNaN: true }),
        (seed, share) => {
          const normal = normalSource(seededRandom(seed));
          const tau = share * 400;
          const y = x.map((at) => 1 - 0.05 * (1 - Math.exp(-at / tau)) - 2e-4 * at + 1e-3 * normal());
          const best = AGEING_MODELS['exponential-linear'].fit(ageingPoints(x, y)).residualSumOfSquares;
          const truth = x.reduce(
            (sum, at, i) => sum + (y[i] - (1 - 0.05 * (1 - Math.exp(-at / tau)) - 2e-4 * at)) ** 2,
            0,
          );
          expect(best).toBeLessThanOrEqual(truth * (1 + 1e-9));
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('ageingPoints', () => {
  it('names the value that cannot be', () => {
    const one = Float64Array.of(1, 2, 2);
    const good = Float64Array.of(1, 2, 3);
    expect(() => ageingPoints(one, good)).toThrow(/x\[2\] = 2 does not lie above x\[1\] = 2/);
    expect(() => ageingPoints(good, Float64Array.of(1, Number.NaN, 1))).toThrow(
      /y\[1\] is NaN: it must be finite/,
    );
    expect(() => ageingPoints(Float64Array.of(-1, 0, 1), good)).toThrow(
      /x\[0\] is -1: it must be finite and not negative/,
    );
    expect(() => ageingPoints(Float64Array.of(-0.5, 0, 1), good)).toThrow(/x\[0\] is -0.5/);
    expect(() => ageingPoints(Float64Array.of(1, 2, Infinity), good)).toThrow(/x\[2\] is Infinity/);
    expect(() => ageingPoints(good, good, Float64Array.of(1, Infinity, 1))).toThrow(
      /weights\[1\] is Infinity: it must be positive and finite/,
    );
    expect(() => ageingPoints(good, good, Float64Array.of(1, 0, 1))).toThrow(
      /weights\[1\] is 0: it must be positive/,
    );
    expect(() => ageingPoints(good, Float64Array.of(1))).toThrow(/y holds 1 values and x 3/);
  });
});

describe('fitAgeingModels', () => {
  it('chooses the line for a line, and states AICc by its formula', () => {
    const normal = normalSource(seededRandom(5));
    const y = x.map((at) => 1 - 2e-4 * at + 1e-3 * normal());
    const { candidates, chosen, inflation } = fitAgeingModels(ageingPoints(x, y), AGEING_MODEL_NAMES, false);
    expect(chosen?.name).toBe('linear');
    expect(inflation).toBe(1);
    const line = candidates[0];
    const sum = line.fit?.residualSumOfSquares ?? Number.NaN;
    // Burnham and Anderson 2002: n ln(S/n) + 2K + 2K(K + 1)/(n − K − 1) with K = 3.
    expect(line.aicc).toBeCloseTo(400 * Math.log(sum / 400) + 6 + 24 / 396, 8);
    expect(candidates.reduce((total, candidate) => total + (candidate.weight ?? 0), 0)).toBeCloseTo(1, 12);
  });

  it('is not led astray by a tenth of the points lying far off', () => {
    const normal = normalSource(seededRandom(6));
    const y = x.map((at, i) => 1 - 2e-4 * at + 5e-4 * normal() - (i % 10 === 3 ? 0.02 : 0));
    const robust = fitAgeingModels(ageingPoints(x, y), ['linear']).chosen;
    const plain = fitAgeingModels(ageingPoints(x, y), ['linear'], false).chosen;
    const off = (initial: number | undefined): number => Math.abs((initial ?? 0) - 1);
    expect(off(robust?.parameter('initial'))).toBeLessThan(0.4 * off(plain?.parameter('initial')));
  });

  it('says too few points instead of an AICc', () => {
    const few = ageingPoints(
      x.subarray(0, 6),
      x.subarray(0, 6).map((at) => 1 - 1e-3 * at),
    );
    const byName = Object.fromEntries(fitAgeingModels(few).candidates.map((c) => [c.name, c.reason]));
    expect(byName).toMatchObject({
      linear: null,
      power: null,
      'two-slope': 'too-few-points',
      'three-slope': 'too-few-points',
    });
  });
});
