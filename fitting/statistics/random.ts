/** A source of uniform random numbers in [0, 1). Everything random in `fitting/` takes one as an argument. */
export type RandomSource = () => number;

/**
 * A repeatable uniform source: the same `seed` gives the same numbers on every machine.
 *
 * The generator is xoshiro128** (Blackman and Vigna, "Scrambled linear pseudorandom number generators", ACM
 * TOMS 47 (2021) 36), its four words filled from the seed by splitmix32 steps. Each number carries 53 bits,
 * taken from two draws.
 *
 * @param seed any finite number; its lower 32 bits after truncation are used
 * @throws RangeError when the seed is not finite
 */
export function seededRandom(seed: number): RandomSource {
  if (!Number.isFinite(seed)) throw new RangeError(`seed must be a finite number, got ${seed}`);
  let state = Math.trunc(seed) | 0;
  const word = (): number => {
    state = (state + 0x9e3779b9) | 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return z ^ (z >>> 15);
  };
  let [a, b, c, d] = [word(), word(), word(), word()];
  const next = (): number => {
    const product = Math.imul(b, 5);
    const result = Math.imul((product << 7) | (product >>> 25), 9) >>> 0;
    const shifted = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= shifted;
    d = (d << 11) | (d >>> 21);
    return result;
  };
  return () => ((next() >>> 5) * 67108864 + (next() >>> 6)) / 9007199254740992;
}

/**
 * Standard normal deviates from a uniform source by the polar method (Marsaglia and Bray, SIAM Review 6
 * (1964) 260).
 *
 * @param random uniform source in [0, 1)
 */
export function normalSource(random: RandomSource): RandomSource {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * random() - 1;
      const v = 2 * random() - 1;
      const s = u * u + v * v;
      if (s > 0 && s < 1) {
        const factor = Math.sqrt((-2 * Math.log(s)) / s);
        spare = v * factor;
        return u * factor;
      }
    }
  };
}
