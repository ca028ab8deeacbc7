import { integrate, rootIn } from '../numeric/index.ts';
import { normalProbability } from './distributions.ts';

/**
 * P(T ≤ t) of the noncentral t distribution: T = (Z + δ)/S with S² = χ²(ν)/ν. Integrated over S,
 *   P = ∫ Φ(t s − δ) f(s) ds,   f(s) = 2 (ν/2)^(ν/2)/Γ(ν/2) · s^(ν−1) e^(−νs²/2),
 * between the values of s beyond which f is below rounding. The standard library in use has no noncentral t.
 * Good to about 1e-12 (tests compare with SciPy and published factors).
 *
 * @throws RangeError for degrees below 1
 */
export function noncentralTProbability(t: number, degrees: number, noncentrality: number): number {
  if (!(degrees >= 1)) throw new RangeError(`degrees must be at least 1, got ${degrees}`);
  const density = chiOverRoot(degrees);
  const { from, to } = rangeOf(degrees);
  // Φ(t s − δ) rises within 1/t of s = δ/t: panels no wider than about 4 such lengths.
  const panels = Math.min(1000, Math.max(24, Math.ceil((Math.abs(t) * (to - from)) / 4)));
  const integral = integrate((s) => normalProbability(t * s - noncentrality) * density(s), from, to, panels);
  return Math.min(1, integral);
}

/** Quantile of the noncentral t distribution. @throws RangeError for p outside (0, 1) or degrees below 1 */
export function noncentralTQuantile(p: number, degrees: number, noncentrality: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`p must lie between 0 and 1, got ${p}`);
  const excess = (t: number): number => noncentralTProbability(t, degrees, noncentrality) - p;
  let low = noncentrality - 1;
  let high = noncentrality + 1;
  for (let width = 1; excess(low) > 0 && width < 1e12; width *= 2) low -= width;
  for (let width = 1; excess(high) < 0 && width < 1e12; width *= 2) high += width;
  return rootIn(excess, low, high);
}

/** Density of s = √(χ²(ν)/ν). */
function chiOverRoot(degrees: number): (s: number) => number {
  const constant = Math.log(2) + (degrees / 2) * Math.log(degrees / 2) - logGamma(degrees / 2);
  return (s) => (s <= 0 ? 0 : Math.exp(constant + (degrees - 1) * Math.log(s) - (degrees * s * s) / 2));
}

/** Where that density holds all but about 1e-17: mean about 1, deviation about 1/√(2ν). */
function rangeOf(degrees: number): { from: number; to: number } {
  const width = 9 / Math.sqrt(2 * degrees);
  return { from: Math.max(0, 1 - width), to: 1 + width + (degrees < 3 ? 3 : 0) };
}

/** ln Γ(x), x > 0: Stirling's series after shifting the argument above 15 (Abramowitz and Stegun 6.1.41). */
export function logGamma(x: number): number {
  let shift = 0;
  let at = x;
  while (at < 15) {
    shift += Math.log(at);
    at += 1;
  }
  const inverse = 1 / (at * at);
  const series =
    (1 / 12 - inverse * (1 / 360 - inverse * (1 / 1260 - inverse * (1 / 1680 - inverse / 1188)))) / at;
  return (at - 0.5) * Math.log(at) - at + 0.5 * Math.log(2 * Math.PI) + series - shift;
}
