/** Header names that say "state of charge". */
export function namesSoc(name: string): boolean {
  return /^(soc|state[ _-]?of[ _-]?charge)([ _([].*)?$/i.test(name.trim());
}

/**
 * State of charge 0…1 of a column's first value: percent where the header says so or the value is above 1.
 * Null for a value that is none.
 */
export function socOfColumn(name: string, firstValue: number): number | null {
  const percent = /%|percent/i.test(name) || firstValue > 1;
  const soc = percent ? firstValue / 100 : firstValue;
  return soc >= 0 && soc <= 1 ? soc : null;
}
