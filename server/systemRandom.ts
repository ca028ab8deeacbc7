import { randomBytes } from 'node:crypto';

/** Uniform in [0, 1) from the system's random bytes, with 53 bits. */
export function systemRandom(): number {
  const bytes = randomBytes(8);
  return Number(bytes.readBigUInt64BE() >> 11n) / 2 ** 53;
}
