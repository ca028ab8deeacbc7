import { normalDensity, normalProbability } from '../statistics/index.ts';

/** One normal part of a mixture over z = ln(x / end of the observed range); an infinite mean: never reached. */
export interface MixturePart {
  readonly weight: number;
  readonly mean: number;
  readonly sd: number;
}

const MOST_PARTS = 250;
/** So many standard deviations off its mean a normal distribution is 0 or 1 to all digits. */
const FAR = 8.5;
/** A quantile is found to this much of ln x. */
const QUANTILE_STEP = 1e-10;

/** P(part ≤ z). */
function below({ mean, sd }: MixturePart, z: number): number {
  if (mean === Infinity) return 0;
  if (z - mean > FAR * sd) return 1;
  if (mean - z > FAR * sd) return 0;
  return sd > 0 ? normalProbability((z - mean) / sd) : 1;
}

/**
 * P(value ≤ z) of a mixture of normals, given that the limit was not reached by `from`. Parts with an infinite mean never
 * contribute.
 *
 * @param from z of the last measurement, at least 0
 */
export function mixtureProbability(parts: readonly MixturePart[], z: number, from = 0): number {
  if (z < from) return 0;
  let sum = 0;
  let total = 0;
  for (const part of parts) {
    const past = below(part, from - 1e-12);
    if (past === 1) continue;
    total += part.weight * (1 - past);
    sum += part.weight * (below(part, z) - past);
  }
  return total > 0 ? Math.max(sum, 0) / total : 1;
}

/** Density of a mixture at z; parts that are never reached have none. */
export function mixtureDensity(parts: readonly MixturePart[], z: number): number {
  let sum = 0;
  for (const { weight, mean, sd } of parts) {
    if (mean === Infinity || !(sd > 0) || Math.abs(z - mean) > FAR * sd) continue;
    sum += (weight * normalDensity((z - mean) / sd)) / sd;
  }
  return sum;
}

/**
 * Quantile of a mixture by bisection, never below `from`; Infinity where the parts that are never reached weigh more than 1 − p.
 *
 * @param p between 0 and 1, ends excluded
 * @param from see {@link mixtureProbability}
 */
export function mixtureQuantile(parts: readonly MixturePart[], p: number, from = 0): number {
  const finite = parts.filter((part) => part.mean !== Infinity && part.weight > 0);
  if (finite.length === 0) return Infinity;
  let low = from;
  let high = Math.max(...finite.map((part) => part.mean + 10 * part.sd), from) + 1e-9;
  if (mixtureProbability(parts, high, from) < p) return Infinity;
  while (high - low > QUANTILE_STEP) {
    const middle = (low + high) / 2;
    if (mixtureProbability(parts, middle, from) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The same mixture with fewer parts: neighbours in order of their means are joined, their mean and variance kept. */
export function compressParts(parts: readonly MixturePart[]): MixturePart[] {
  const finite = parts.filter((part) => part.mean !== Infinity && part.weight > 0);
  finite.sort((a, b) => a.mean - b.mean);
  const total = parts.reduce((sum, part) => sum + part.weight, 0);
  const share = total / MOST_PARTS;
  const joined: MixturePart[] = [];
  let weight = 0;
  let first = 0;
  let second = 0;
  const close = (): void => {
    if (!(weight > 0)) return;
    const mean = first / weight;
    joined.push({ weight, mean, sd: Math.sqrt(Math.max(second / weight - mean * mean, 0)) });
    weight = 0;
    first = 0;
    second = 0;
  };
  let start = Number.NaN;
  for (const part of finite) {
    if (weight > 0 && (weight + part.weight > share || part.mean - start > Math.max(2 * part.sd, 0.01)))
      close();
    if (weight === 0) start = part.mean;
    weight += part.weight;
    first += part.weight * part.mean;
    second += part.weight * (part.mean * part.mean + part.sd * part.sd);
  }
  close();
  const never = parts.reduce((sum, part) => sum + (part.mean === Infinity ? part.weight : 0), 0);
  return never > 0 ? [...joined, { weight: never, mean: Infinity, sd: 0 }] : joined;
}
