import { integrate, rootIn } from '../numeric/index.ts';
import {
  chiSquareProbability,
  chiSquareQuantile,
  normalDensity,
  normalProbability,
  normalQuantile,
} from './distributions.ts';
import { noncentralTQuantile } from './noncentralT.ts';

function check(n: number, coverage: number, confidence: number): void {
  if (!(Number.isInteger(n) && n >= 2)) throw new RangeError(`n must be an integer of at least 2, got ${n}`);
  for (const [name, value] of [
    ['coverage', coverage],
    ['confidence', confidence],
  ] as const) {
    if (!(value > 0 && value < 1)) throw new RangeError(`${name} must lie between 0 and 1, got ${value}`);
  }
}

/**
 * Exact one-sided tolerance factor: mean + k·s lies above at least `coverage` of a normal population with
 * `confidence`. k = t′(confidence; n − 1, z√n)/√n with the noncentral t (ISO 16269-6; e-Handbook of
 * Statistical Methods 7.2.6.3).
 *
 * @throws RangeError for n < 2 or probabilities outside (0, 1)
 */
export function oneSidedToleranceFactor(n: number, coverage: number, confidence: number): number {
  check(n, coverage, confidence);
  return noncentralTQuantile(confidence, n - 1, normalQuantile(coverage) * Math.sqrt(n)) / Math.sqrt(n);
}

/** Two-sided factor by Howe's approximation z√((n − 1)(1 + 1/n)/χ²) (e-Handbook 7.2.6.3). */
export function howeToleranceFactor(n: number, coverage: number, confidence: number): number {
  check(n, coverage, confidence);
  const z = normalQuantile((1 + coverage) / 2);
  return z * Math.sqrt(((n - 1) * (1 + 1 / n)) / chiSquareQuantile(1 - confidence, n - 1));
}

/**
 * Exact two-sided tolerance factor: mean ± k·s holds at least `coverage` of a normal population with
 * `confidence`. The k with
 *   ∫ P(χ²(n − 1) > (n − 1) R(u)²/k²) φ(u) du = confidence,   Φ(u/√n + R) − Φ(u/√n − R) = coverage
 * (Wald and Wolfowitz, Ann. Math. Stat. 17 (1946) 208; ISO 16269-6 annex).
 *
 * @throws RangeError for n < 2 or probabilities outside (0, 1)
 */
export function twoSidedToleranceFactor(n: number, coverage: number, confidence: number): number {
  check(n, coverage, confidence);
  const radii = new Map<number, number>();
  const radiusAt = (u: number): number => {
    const known = radii.get(u);
    if (known !== undefined) return known;
    const shift = u / Math.sqrt(n);
    const least = normalQuantile((1 + coverage) / 2);
    const r = rootIn(
      (radius) => normalProbability(shift + radius) - normalProbability(shift - radius) - coverage,
      least * (1 - 1e-9),
      least + shift + 1,
    );
    radii.set(u, r);
    return r;
  };
  const held = (k: number): number =>
    2 *
    integrate(
      (u) => (1 - chiSquareProbability(((n - 1) * radiusAt(u) ** 2) / k ** 2, n - 1)) * normalDensity(u),
      0,
      8.5,
      4,
    );
  const howe = howeToleranceFactor(n, coverage, confidence);
  return rootIn((k) => held(k) - confidence, 0.5 * howe, 2 * howe, 1e-11);
}
