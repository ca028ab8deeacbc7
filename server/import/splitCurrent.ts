import type { NamedColumn } from './proposeColumns.ts';

/** Columns of the current that flows in and of the one that flows out, where a file keeps them apart; null otherwise. */
export function findSplitCurrent(
  columns: readonly NamedColumn[],
): { charge: NamedColumn; discharge: NamedColumn } | null {
  const fits = (pattern: RegExp): NamedColumn | undefined =>
    columns.find(({ name, unit }) => (unit === null || unit.quantity === 'current') && pattern.test(name));
  const charge = fits(/^(?:charge|chg|charging|ch) (?:current|i)$|^(?:current|i) (?:charge|chg|in)$/);
  const discharge = fits(
    /^(?:discharge|dchg|discharging|dch|dis) (?:current|i)$|^(?:current|i) (?:discharge|dchg|out)$/,
  );
  return charge === undefined || discharge === undefined ? null : { charge, discharge };
}
