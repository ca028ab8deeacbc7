import { createHash } from 'node:crypto';

/** Tells headers apart without regard to case and blanks: files of one instrument have one fingerprint. */
export function headerFingerprint(header: readonly string[]): string {
  const plain = header.map((name) => name.trim().toLowerCase().replace(/\s+/g, ' '));
  return createHash('sha256').update(JSON.stringify(plain)).digest('hex').slice(0, 32);
}
