import { normalProbability } from '../statistics/distributions.ts';

/** One normal part of a mixture over ln(x / end of the observed range); an infinite mean: never reached. */
export interface MixturePart {
  readonly weight: number;
  readonly mean: number;
  readonly sd: number;
}

/** P(value ≤ z) of a mixture of normals; parts with an infinite mean never contribute. */
export function mixtureProbability(parts: readonly MixturePart[], z: number): number {
  let sum = 0;
  let total = 0;
  for (const part of parts) {
    total += part.weight;
    if (part.mean === Infinity) continue;
    sum +=
      part.weight * (part.sd > 0 ? normalProbability((z - part.mean) / part.sd) : z >= part.mean ? 1 : 0);
  }
  return sum / total;
}

/**
 * Quantile of a mixture by bisection; Infinity where the parts that are never reached weigh more than 1 − p.
 *
 * @param p between 0 and 1, ends excluded
 */
export function mixtureQuantile(parts: readonly MixturePart[], p: number): number {
  const finite = parts.filter((part) => part.mean !== Infinity && part.weight > 0);
  if (finite.length === 0) return Infinity;
  let low = Math.min(...finite.map((part) => part.mean - 10 * part.sd)) - 1e-9;
  let high = Math.max(...finite.map((part) => part.mean + 10 * part.sd)) + 1e-9;
  if (mixtureProbability(parts, high) < p) return Infinity;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (mixtureProbability(parts, middle) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
