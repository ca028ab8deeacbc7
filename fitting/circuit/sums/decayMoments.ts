/**
 * The sums Σ rᵏ, Σ k rᵏ and Σ k² rᵏ over k = 1…m for 0 ≤ r ≤ 1, written to `out[at…at+2]`.
 *
 * By doubling: the sums over 2m follow from those over m as S(2m) = S(m) + rᵐ·(S(m) shifted by m), in which
 * every term is positive, so that nothing cancels, also near r = 1 where the textbook quotients lose all
 * digits.
 */
export function decayMoments(ratio: number, count: number, out: Float64Array, at: number): void {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let power = 1;
  let m = 0;
  for (let bit = 31 - Math.clz32(count); bit >= 0; bit--) {
    s2 += power * (s2 + 2 * m * s1 + m * m * s0);
    s1 += power * (s1 + m * s0);
    s0 += power * s0;
    power *= power;
    m *= 2;
    if ((count >>> bit) & 1) {
      power *= ratio;
      m += 1;
      s0 += power;
      s1 += m * power;
      s2 += m * m * power;
    }
  }
  out[at] = s0;
  out[at + 1] = s1;
  out[at + 2] = s2;
}
