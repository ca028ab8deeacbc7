import type { NamedColumn } from './proposeColumns.ts';

/** Names of columns that state what the tester does. */
const stateNames = /\b(state|status|mode|md|type|direction|operation|phase|action|control)\b/;

/**
 * −1, 1 or 0 where a tester's word for what it does means discharge, charge or rest; null where it means none of them.
 */
export function currentSignOf(word: string): -1 | 0 | 1 | null {
  const text = word.trim().toLowerCase();
  if (text === 'd') return -1;
  if (text === 'c') return 1;
  if (text === 'r' || text === 's' || text === '') return 0;
  if (/dis[\s_-]*ch|dchg|dchrg|\bdch\b|entlad/.test(text)) return -1;
  if (/chg|chrg|\bcha?\b|charg|\blad/.test(text)) return 1;
  return /rest|paus|idle|ocv|open|wait|ruhe|stop|\bend\b|\boff\b/.test(text) ? 0 : null;
}

/** The column of words whose first values all mean charge, discharge or rest; a telling name goes first. */
export function findStateColumn(
  columns: readonly NamedColumn[],
  firstRows: readonly (readonly string[])[],
): Pick<NamedColumn, 'index' | 'source'> | null {
  const fits = columns.filter((column) => {
    const words = firstRows.map((row) => row[column.index] ?? '');
    return words.some((word) => word.trim() !== '') && words.every((word) => currentSignOf(word) !== null);
  });
  return fits.find((column) => stateNames.test(column.name)) ?? fits[0] ?? null;
}
