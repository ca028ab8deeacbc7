/** Uniform numbers in [0, 1). */
export type Uniform = () => number;

/**
 * A stream of uniform numbers that is the same on every machine (Mulberry32, public domain). Each cell has its own
 * stream, so that a change of one cell's tests leaves the others as they were.
 */
export function uniformFrom(seed: number): Uniform {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** A normally distributed number (Box and Muller 1958). */
export function normal(uniform: Uniform, mean: number, standardDeviation: number): number {
  const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
  return mean + standardDeviation * radius * Math.cos(2 * Math.PI * uniform());
}
