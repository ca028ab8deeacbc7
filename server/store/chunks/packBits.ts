/** Integers below this in size have differences that fit 32 bits. */
export const smallInteger = 2 ** 30;

/**
 * Packs `integer - previous - lowest` of each integer, `width` bits each, least significant first, into `words` from
 * place `at` on. The differences must fit the width.
 *
 * @returns the place after the last word written
 */
export function packDeltas(
  words: Uint32Array,
  at: number,
  integers: Int32Array,
  from: number,
  count: number,
  width: number,
  before: number,
  lowest: number,
): number {
  let out = at;
  let word = 0;
  let used = 0;
  let previous = before | 0;
  const low = lowest | 0;
  for (let i = from; i < from + count; i++) {
    const integer = integers[i];
    const bits = (integer - previous - low) | 0;
    previous = integer;
    word |= bits << used;
    used += width;
    if (used >= 32) {
      words[out++] = word;
      used -= 32;
      word = used === 0 ? 0 : bits >>> (width - used);
    }
  }
  if (used > 0) words[out++] = word;
  return out;
}

/** As {@link packDeltas}, of `integer - lowest`. */
export function packOffsets(
  words: Uint32Array,
  at: number,
  integers: Int32Array,
  from: number,
  count: number,
  width: number,
  lowest: number,
): number {
  let out = at;
  let word = 0;
  let used = 0;
  const low = lowest | 0;
  for (let i = from; i < from + count; i++) {
    const bits = (integers[i] - low) | 0;
    word |= bits << used;
    used += width;
    if (used >= 32) {
      words[out++] = word;
      used -= 32;
      word = used === 0 ? 0 : bits >>> (width - used);
    }
  }
  if (used > 0) words[out++] = word;
  return out;
}

/** As the two above, for integers beyond 32 bits: `lowest` is taken off the difference to the value before, or to 0. */
export function packWide(
  words: Uint32Array,
  at: number,
  integers: Float64Array,
  count: number,
  width: number,
  before: number | null,
  lowest: number,
): number {
  let out = at;
  let word = 0;
  let used = 0;
  let previous = before ?? 0;
  for (let i = 0; i < count; i++) {
    const integer = integers[i];
    const bits = (integer - previous - lowest) >>> 0;
    if (before !== null) previous = integer;
    word |= bits << used;
    used += width;
    if (used >= 32) {
      words[out++] = word;
      used -= 32;
      word = used === 0 ? 0 : bits >>> (width - used);
    }
  }
  if (used > 0) words[out++] = word;
  return out;
}
