import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** A simulated cell: a record past its end of life, and what is true of it. Capacity relative to new; the limit is 0.8. */
export interface SimulatedCell {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly life: number;
  /** Share of life at which the fade changes; null where it does not. */
  readonly changesAt: number | null;
}

/** Kinds of simulated fade. */
export const SIMULATED_KINDS = [
  'smooth',
  'knee',
  'exponential-knee',
  'fast-then-slow',
  'slow-then-fast',
  'three-stage',
] as const;
export type SimulatedKind = (typeof SIMULATED_KINDS)[number];

const ramp = (u: number, k: number, w: number): number =>
  w * Math.log1p(Math.exp(Math.min((u - k) / w, 700)));

/**
 * Fade of one kind with random parameters: life of 100 to 2,000 cycles, 32 to 800 rows over 1.3 lives, noise of 0.05 to 0.4 % of the
 * capacity. Smooth: a power of age. Knee: two slopes, 2.5 to 13 times as steep after it. Two stages: an early loss that dies away; a second
 * slope; both and a knee.
 */
export function simulateCell(kind: SimulatedKind, seed: number): SimulatedCell {
  const random = seededRandom(1000 + seed);
  const normal = normalSource(random);
  const between = (a: number, b: number): number => a + (b - a) * random();
  const life = 10 ** between(2, 3.3);
  const n = Math.floor(10 ** between(1.5, 2.9));
  const noise = 10 ** between(-3.3, -2.4);
  const { loss, changesAt } = lossOf(kind, between);
  const whole = loss(1) - loss(0);
  const x = Float64Array.from({ length: n }, (_, i) => (1.3 * life * (i + 1)) / n);
  const y = x.map((at) => 1 - (0.2 * (loss(at / life) - loss(0))) / whole + noise * normal());
  return { x, y, life, changesAt };
}

function lossOf(
  kind: SimulatedKind,
  between: (a: number, b: number) => number,
): { loss: (u: number) => number; changesAt: number | null } {
  if (kind === 'smooth') {
    const z = between(0.5, 1.4);
    return { loss: (u) => u ** z, changesAt: null };
  }
  if (kind === 'knee') {
    const [k, r, w] = [between(0.4, 0.9), 10 ** between(0.4, 1.1), between(0.01, 0.08)];
    return { loss: (u) => u + (r - 1) * ramp(u, k, w), changesAt: k };
  }
  if (kind === 'exponential-knee') {
    const [k, w] = [between(0.4, 0.9), between(0.06, 0.2)];
    return { loss: (u) => u + 2 * w * Math.exp((u - k) / w), changesAt: k };
  }
  const [t, b] = [between(0.05, 0.25), between(0.2, 1.5)];
  const early = (u: number): number => -b * Math.expm1(-u / t);
  if (kind === 'fast-then-slow') return { loss: (u) => early(u) + u, changesAt: t };
  const [k, r] =
    kind === 'slow-then-fast'
      ? [between(0.2, 0.7), between(1.5, 4)]
      : [between(0.5, 0.9), 10 ** between(0.4, 1)];
  if (kind === 'slow-then-fast') return { loss: (u) => u + (r - 1) * Math.max(u - k, 0), changesAt: k };
  return { loss: (u) => early(u) + u + (r - 1) * ramp(u, k, 0.03), changesAt: k };
}
