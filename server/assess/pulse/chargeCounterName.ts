/** Header names that say "signed charge counter in Ah". */
export function namesChargeCounter(name: string): boolean {
  return /^charge[ _([]*ah[)\]]?$/i.test(name.trim());
}
