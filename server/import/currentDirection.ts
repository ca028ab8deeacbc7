import { isMissingText } from './fields.ts';
import type { NamedColumn } from './proposeColumns.ts';

/**
 * Which way the current of a row flows by the text of its state, mode or step type: 1 charge, -1 discharge, 0 where the text
 * says neither.
 */
export function directionOfState(text: string): -1 | 0 | 1 {
  const words = text
    .toLowerCase()
    .replace(/[_\-./]+/g, ' ')
    .trim();
  if (
    /\b(?:dis|dch|dchg|dchrg|dsg|dischg)\b|discharg|entlad|\b(?:cc|cv|cp|cr) ?d(?:is|ch|chg)?\b|^d$/.test(
      words,
    )
  )
    return -1;
  if (/\b(?:ch|chg|chrg|cha)\b|charg|\blad(?:en|ung)?\b|^c$/.test(words)) return 1;
  return 0;
}

/** Whether a text is one that a column of states has: a direction, a rest, an end. */
function isStateText(text: string): boolean {
  return (
    directionOfState(text) !== 0 ||
    /^(?:r|rest|resting|pause|idle|ocv|open circuit|wait|ruhe|stop|end|finish(?:ed)?|done|0)$/i.test(
      text.trim(),
    )
  );
}

const stateNames =
  /^(?:state|status|mode|step (?:type|mode|name|state)|type|md|action|work mode|process|charge discharge|direction)$/;

/** The column that says of every row whether it charges, discharges or rests; null where there is none. */
export function findStateColumn(
  columns: readonly NamedColumn[],
  firstRows: readonly (readonly string[])[],
): NamedColumn | null {
  return (
    columns.find((column) => {
      if (column.unit !== null || !stateNames.test(column.name)) return false;
      const texts = firstRows.map((row) => row[column.index] ?? '').filter((text) => !isMissingText(text));
      return texts.length > 0 && texts.filter(isStateText).length >= 0.9 * texts.length;
    }) ?? null
  );
}

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
