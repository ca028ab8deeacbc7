import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cubicAt,
  cubicSlopeAt,
  exponentialWeights,
  leftOut,
  NODES,
  WEIGHTS_LENGTH,
} from '../../../fitting/charging/exponentialWeights.ts';

/** ∫_0^c e^(−x (c − s)) p(s) ds by 400 pieces of Simpson's rule, fine enough for x up to 40. */
function byQuadrature(x: number, c: number, p: (s: number) => number): number {
  const pieces = 400;
  const f = (s: number) => Math.exp(-x * (c - s)) * p(s);
  let sum = 0;
  for (let k = 0; k < pieces; k++) {
    const [a, b] = [(c * k) / pieces, (c * (k + 1)) / pieces];
    sum += ((b - a) / 6) * (f(a) + 4 * f((a + b) / 2) + f(b));
  }
  return sum;
}

describe('the weights of an exponential step', () => {
  it('integrate every cubic exactly, whatever the time constant', () => {
    const coefficient = fc.double({ min: -2, max: 2, noNaN: true });
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 40, noNaN: true }),
        fc.tuple(coefficient, coefficient, coefficient, coefficient),
        (x, [a, b, c, d]) => {
          const weights = new Float64Array(WEIGHTS_LENGTH);
          exponentialWeights(x, weights, 0);
          const p = (s: number) => a + s * (b + s * (c + s * d));
          for (let node = 1; node < 4; node++) {
            let sum = 0;
            for (let l = 0; l < 4; l++) sum += weights[4 * (node - 1) + l] * p(NODES[l]);
            expect(sum).toBeCloseTo(byQuadrature(x, NODES[node], p), 8);
            expect(weights[12 + node - 1]).toBeCloseTo(Math.exp(-x * NODES[node]), 13);
          }
        },
      ),
      { numRuns: 60, seed: 7 },
    );
  });

  it('join smoothly where the recurrence changes its direction', () => {
    const at = (x: number) => {
      const out = new Float64Array(WEIGHTS_LENGTH);
      exponentialWeights(x, out, 0);
      return out;
    };
    for (const edge of [0.25, 1]) {
      for (const c of NODES.slice(1)) {
        const [below, above] = [at(edge / c - 1e-9), at(edge / c + 1e-9)];
        for (let k = 0; k < WEIGHTS_LENGTH; k++) expect(Math.abs(below[k] - above[k])).toBeLessThan(1e-8);
      }
    }
  });

  it('hold a steady state to rounding for a branch a thousand times quicker than the step', () => {
    const weights = new Float64Array(WEIGHTS_LENGTH);
    exponentialWeights(1000, weights, 0);
    // y' = −λ y + λ g with g = 1: y is 1 at every node after the first.
    for (let a = 0; a < 3; a++) {
      const sum = weights[4 * a] + weights[4 * a + 1] + weights[4 * a + 2] + weights[4 * a + 3];
      expect(1000 * sum).toBeCloseTo(1, 12);
    }
  });
});

describe('the cubic through the nodes', () => {
  it('gives a cubic and its slope back', () => {
    const p = (s: number) => 1 - 2 * s + 3 * s * s - 0.5 * s ** 3;
    const values = Float64Array.from(NODES, p);
    for (const s of [0, 0.1, 0.5, 0.9, 1]) {
      expect(cubicAt(values, 0, s)).toBeCloseTo(p(s), 13);
      expect(cubicSlopeAt(values, 0, s)).toBeCloseTo(-2 + 6 * s - 1.5 * s * s, 12);
    }
  });

  it('has an estimate of what it leaves out that is not below the truth for a fall by an exponential', () => {
    for (const x of [0.2, 0.5, 1, 2, 4]) {
      const f = NODES.map((s) => Math.exp(-x * s));
      const values = Float64Array.from(f);
      let worst = 0;
      for (let s = 0; s <= 1; s += 0.01)
        worst = Math.max(worst, Math.abs(cubicAt(values, 0, s) - Math.exp(-x * s)));
      expect(2 * leftOut(f[0], f[1], f[2], f[3])).toBeGreaterThan(worst);
    }
  });
});
