import { describe, expect, it } from 'vitest';
import { createSeparableSolver, type SeparableShape } from '../../../fitting/least-squares/separable.ts';
import { estimateOf } from '../../../fitting/least-squares/types.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const shape: SeparableShape = {
  linear: [
    { name: 'offset', unit: 'V' },
    { name: 'fast', unit: 'V' },
    { name: 'slow', unit: 'V' },
  ],
  nonlinear: [
    { name: 'logFast', unit: '1', start: 0, min: -3, max: 10, maxStep: 1.5 },
    { name: 'logSlow', unit: '1', start: 4, min: -3, max: 10, maxStep: 1.5 },
  ],
  derivatives: [
    { basis: 1, nonlinear: 0 },
    { basis: 2, nonlinear: 1 },
  ],
};

const x = Float64Array.from({ length: 400 }, (_, i) => i * 0.25);
const noise = normalSource(seededRandom(7));
const y = x.map((t) => 0.1 + 0.05 * Math.exp(-t / 2) + 0.08 * Math.exp(-t / 30) + 2e-4 * noise());

function fill(
  theta: Float64Array,
  basis: readonly Float64Array[],
  derivatives: readonly Float64Array[],
  first: boolean,
): void {
  if (first) basis[0].fill(1);
  for (let k = 0; k < 2; k++) {
    const tau = Math.exp(theta[k]);
    for (let i = 0; i < x.length; i++) {
      const decay = Math.exp(-x[i] / tau);
      basis[k + 1][i] = decay;
      derivatives[k][i] = (decay * x[i]) / tau;
    }
  }
}

function accumulate(theta: Float64Array, gram: Float64Array): void {
  gram.fill(0);
  const z = new Float64Array(6);
  for (let i = 0; i < x.length; i++) {
    z[0] = 1;
    for (let k = 0; k < 2; k++) {
      const tau = Math.exp(theta[k]);
      z[1 + k] = Math.exp(-x[i] / tau);
      z[3 + k] = (z[1 + k] * x[i]) / tau;
    }
    z[5] = y[i];
    for (let a = 0; a < 6; a++) for (let b = a; b < 6; b++) gram[a * 6 + b] += z[a] * z[b];
  }
}

describe('createSeparableSolver', () => {
  it('gives the same values and standard errors from columns, from Gram sums and from the finish by QR', () => {
    const columns = createSeparableSolver(shape).solve({ y, fill });
    const gram = createSeparableSolver(shape).solve({ points: y.length, accumulate });
    const polished = createSeparableSolver(shape, { polish: 'always' }).solve({ y, fill });
    expect(columns.termination).toBe('gradient');
    for (let i = 0; i < 5; i++) {
      const truth = polished.parameters[i];
      const scale = truth.standardError as number;
      expect(Math.abs(columns.parameters[i].value - truth.value)).toBeLessThan(1e-7 * scale);
      expect(gram.parameters[i].value).toBeCloseTo(columns.parameters[i].value, 12);
      expect(columns.parameters[i].standardError).toBeCloseTo(scale, 8);
    }
    expect(estimateOf(polished, 'logSlow').value).toBeCloseTo(Math.log(30), 1);
  });
});
