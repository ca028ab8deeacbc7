import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { type DrawnLaw, FADE_LAWS, type FadeLaw, type Fleet } from './fadeLaws.ts';

/** A simulated cell: a record past its end of life, and what is true of it. Capacity relative to rated; the limit is 0.8. */
export interface SimulatedCell {
  readonly law: FadeLaw;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Where the curve without its noise reaches the limit. */
  readonly life: number;
  /** Share of life at which the fade changes; null where it does not. */
  readonly changesAt: number | null;
}

const LIMIT = 0.8;
/** Cycles between two rows: every cycle of a cycler's log, and check-ups. */
const SPACINGS: Readonly<Record<Fleet, readonly number[]>> = {
  first: [1, 5, 20, 50],
  second: [1, 2, 10, 30],
};
/** The fewest rows of a life. */
const LEAST_ROWS = 20;
const CORRELATION = 0.9;

/**
 * One cell of a fleet: life of 300 to 3,000 cycles, a row every 1 to 50 cycles over 1.3 lives, noise of 0.1 to 1 % of the capacity; in one
 * cell of three half of that is a drift that rows share (a chamber), in one of four the values are rounded to 0.1 %, in one of four the
 * capacity rises over the first twentieth of life. The first capacity lies up to 3 % off the rated one.
 */
export function simulateCell(law: FadeLaw, seed: number): SimulatedCell {
  const random = seededRandom(7919 * seed + 104729 * FADE_LAWS.indexOf(law) + 1);
  const normal = normalSource(random);
  const between = (a: number, b: number): number => a + (b - a) * random();
  const life = Math.round(10 ** between(Math.log10(300), Math.log10(3000)));
  const fitting = SPACINGS[law.fleet].filter((spacing) => spacing * LEAST_ROWS <= life);
  const spacing = fitting[Math.floor(random() * fitting.length)];
  const noise = 10 ** between(-3, -2);
  const drifts = random() < 1 / 3;
  const resolution = random() < 0.25 ? 1e-3 : 0;
  const rise = random() < 0.25 ? between(0.002, 0.01) : 0;
  const drawn = law.draw(between);
  const curve = curveOf(drawn, between(0.97, 1.03), rise);
  const x = Float64Array.from({ length: Math.floor((1.3 * life) / spacing) }, (_, i) => (i + 1) * spacing);
  let drift = normal();
  const y = x.map((at) => {
    drift = CORRELATION * drift + Math.sqrt(1 - CORRELATION ** 2) * normal();
    const scatter = drifts ? Math.SQRT1_2 * (drift + normal()) : normal();
    const value = curve(at / life) + noise * scatter;
    return resolution > 0 ? Math.round(value / resolution) * resolution : value;
  });
  return { law, x, y, life, changesAt: drawn.changesAt };
}

/** Capacity over u = age / life: the limit is reached at u = 1. */
function curveOf({ loss }: DrawnLaw, initial: number, rise: number): (u: number) => number {
  const gain = (u: number): number => -rise * Math.expm1(-u / 0.02);
  const scale = (initial + gain(1) - LIMIT) / (loss(1) - loss(0));
  return (u) => initial + gain(u) - scale * (loss(u) - loss(0));
}
