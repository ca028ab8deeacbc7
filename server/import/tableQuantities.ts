import type { QuantityName } from '../contract/measurements.ts';
import { parseNumber } from './fields.ts';
import { cycleNames } from './fileKind.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { serialNames, serialNamesOfTable } from './serialNames.ts';

/** Names of a column that marks cells which must not be used. */
export const warningNames = /^(warning|warnings|warning sign|flag|damage)$/;
/** Texts in such a column that say that all is well. */
export const allIsWell = /^(0|no|none|ok|false|good|-)$/i;

/** One quantity of a table, as it will be a measurement. */
export interface TableValue {
  readonly serial: string | null;
  readonly quantity: QuantityName;
  readonly value: number;
  readonly unit: string;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  readonly soc: number | null;
  readonly temperatureC: number | null;
  readonly cycle: number | null;
  /** Header of the column it came from. */
  readonly column: string;
  /** Number of the data row, 1-based. */
  readonly row: number;
  readonly excludedReason: string | null;
}

interface QuantityColumn {
  readonly column: NamedColumn;
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  /** Whether the value belongs to the row's state of charge. */
  readonly atSoc: boolean;
}

/** How the columns of a cell or cycle table were taken. */
export interface TablePlan {
  readonly serialAt: number;
  readonly cycleAt: number;
  readonly socAt: number;
  readonly temperatureAt: number;
  /** Column that marks cells which must not be used, or -1. */
  readonly warningAt: number;
  readonly quantities: readonly QuantityColumn[];
  readonly warnings: readonly string[];
}

/**
 * Decides which columns of a cell or cycle table are what, from their names and units. A column without a unit is not
 * taken, and that is said: 17 could be ohm or milliohm.
 */
export function planTable(header: readonly string[], units: readonly (string | null)[]): TablePlan {
  const columns = nameColumns(header, units);
  const at = (test: (column: NamedColumn) => boolean): number => columns.find(test)?.index ?? -1;
  const serialAt = [
    at((c) => c.unit === null && serialNames.test(c.name)),
    at((c) => c.unit === null && serialNamesOfTable.test(c.name)),
  ].find((index) => index >= 0);
  const cycleAt = [
    at((c) => c.unit === null && /^cycle/.test(c.name)),
    at((c) => c.name === 'discharges before'),
    at((c) => c.unit === null && cycleNames.test(c.name)),
  ].find((index) => index >= 0);
  const socAt = at((c) => /\bsoc\b/.test(c.name) && (c.unit === null || c.unit.quantity === 'fraction'));
  const temperatureAt = at((c) => c.unit?.quantity === 'temperature' && !/\b(max|min)\b/.test(c.name));
  const warningAt = at((c) => c.unit === null && warningNames.test(c.name));
  const warnings: string[] = [];
  const quantities: QuantityColumn[] = [];
  for (const column of columns) {
    if ([serialAt, cycleAt, socAt, temperatureAt, warningAt].includes(column.index)) continue;
    const found = quantityOf(column);
    if (found !== null) quantities.push({ column, ...found });
    else if (
      column.unit === null &&
      /capacity|resistance|energy|mass|ocv|drift|self discharge/.test(column.name)
    ) {
      warnings.push(`column "${column.source}" states no unit and was not taken`);
    }
  }
  if (quantities.some((q) => q.quantity === 'resistance' && q.durationS === null)) {
    warnings.push('a resistance column does not say after how many seconds it was measured');
  }
  return {
    serialAt: serialAt ?? -1,
    cycleAt: cycleAt ?? -1,
    socAt,
    temperatureAt,
    warningAt,
    quantities,
    warnings,
  };
}

function quantityOf(column: NamedColumn): Omit<QuantityColumn, 'column'> | null {
  const { name, unit } = column;
  const durationS = durationIn(name);
  const direction = /\b(discharge|dis|dch)\b/.test(name)
    ? 'discharge'
    : /\b(charge|chg|ch)\b/.test(name)
      ? 'charge'
      : null;
  const plain = { durationS: null, direction: null, atSoc: false };
  if (driftFactor(column) !== null) return { ...plain, quantity: 'drift' };
  switch (unit?.quantity) {
    case 'charge':
      if (!/\bcapacity\b|^q$/.test(name) || /\b(nominal|rated|initial)\b/.test(name)) return null;
      return { ...plain, quantity: direction === 'charge' ? 'charge-capacity' : 'capacity' };
    case 'energy':
      return /\benergy\b/.test(name) && direction !== 'charge' ? { ...plain, quantity: 'energy' } : null;
    case 'mass':
      return { ...plain, quantity: 'mass' };
    case 'voltage':
      return /\b(ocv|open circuit)\b|^(rest )?voltage$/.test(name)
        ? { ...plain, quantity: 'ocv', atSoc: true }
        : null;
    case 'time':
      return /\bcharge time\b/.test(name) ? { ...plain, quantity: 'charge-time' } : null;
    case 'temperature':
      return /\bmax\b/.test(name) ? { ...plain, quantity: 'temperature-max' } : null;
    case 'resistance':
      return resistanceOf(name, durationS, direction);
    default:
      return null;
  }
}

/** What turns a column of volts a day into mV/d; null for any other column. */
function driftFactor(column: NamedColumn): number | null {
  const perDay = /\b(mv|v|uv) ?(?:per|\/)? ?(?:d|day)\b/.exec(
    column.source.toLowerCase().replace(/[\s_\-.:()[\]]+/g, ' '),
  );
  return perDay === null ? null : { mv: 1, v: 1000, uv: 0.001 }[perDay[1] as 'mv' | 'v' | 'uv'];
}

function resistanceOf(
  name: string,
  durationS: number | null,
  direction: 'charge' | 'discharge' | null,
): Omit<QuantityColumn, 'column'> | null {
  if (/\b(imag|imaginary|phase)\b/.test(name)) return null;
  const of = (quantity: QuantityName) => ({ quantity, durationS: null, direction: null, atSoc: true });
  if (/\b1 ?khz\b|\b(ac|acir|rac|impedance)\b/.test(name)) return of('impedance-1khz');
  if (/\brdc\b/.test(name)) return of('rdc');
  if (/^(r0|re|ohmic resistance)$/.test(name)) return of('r0');
  if (/^(r1|rct)$/.test(name)) return of('r1');
  if (/^r2$/.test(name)) return of('r2');
  return { quantity: 'resistance', durationS, direction, atSoc: true };
}

/** The duration in a name such as `resistance 10s`, in seconds. */
function durationIn(name: string): number | null {
  const match = /(\d+(?:p\d+)?) ?(ms|s|sec|min)\b/.exec(name);
  if (match === null) return null;
  const number = Number(match[1].replace('p', '.'));
  return match[2] === 'ms' ? number / 1000 : match[2] === 'min' ? number * 60 : number;
}

/**
 * The values of a cell or cycle table, in order.
 *
 * @throws RefusedFile naming row, column and value of what is no number
 */
export function readQuantities(table: TableFile, plan: TablePlan): TableValue[] {
  const values: TableValue[] = [];
  const seen = new Set<string>();
  const socInPercent = isSocInPercent(table, plan);
  table.rows.forEach((row, i) => {
    const cell = plan.serialAt < 0 ? null : row[plan.serialAt];
    if (cell === '') throw emptySerial(table, plan, i);
    const condition = (at: number): number | null => (at < 0 ? null : numberAt(table, i, at));
    const soc = socOf(table, plan, i, condition(plan.socAt), socInPercent);
    for (const { column, quantity, durationS, direction, atSoc } of plan.quantities) {
      const number = numberAt(table, i, column.index);
      if (number === null) continue;
      const { value, kept } = inKeptUnit(column, quantity, number);
      const cycle = condition(plan.cycleAt);
      // Tables with a row per state of charge repeat what belongs to the cell as a whole.
      const key = atSoc ? null : JSON.stringify([cell, quantity, cycle, value, column.source]);
      if (key !== null && plan.socAt >= 0 && seen.has(key)) continue;
      if (key !== null) seen.add(key);
      values.push({
        serial: cell,
        quantity,
        value,
        unit: kept,
        durationS,
        direction,
        soc: atSoc ? soc : null,
        temperatureC: condition(plan.temperatureAt),
        cycle,
        column: column.source,
        row: i + 1,
        excludedReason:
          value > 0 || quantity === 'temperature-max' || quantity === 'drift' ? null : 'not-positive',
      });
    }
  });
  return values;
}

/** A fraction counted a little past full is none of percent: it is refused, and not read as a hundredth. */
export const ABOVE_FRACTIONS = 1.5;

/** Whether the column of the state of charge is in percent: by its unit, or because one of its values is no fraction. */
function isSocInPercent(table: TableFile, plan: TablePlan): boolean {
  if (plan.socAt < 0) return false;
  if (nameColumns(table.header, table.units)[plan.socAt].unit?.symbol === '%') return true;
  return table.rows.some((_, i) => (numberAt(table, i, plan.socAt) ?? 0) > ABOVE_FRACTIONS);
}

function socOf(
  table: TableFile,
  plan: TablePlan,
  row: number,
  written: number | null,
  percent: boolean,
): number | null {
  if (written === null) return null;
  const fraction = percent ? written / 100 : written;
  if (fraction >= 0 && fraction <= 1) return fraction;
  throw new RefusedFile({
    code: 'impossible-soc',
    row: table.lines[row],
    column: table.header[plan.socAt],
    value: table.rows[row][plan.socAt],
    reason: 'The state of charge lies outside 0 to 100 %',
    expected: 'Write it between 0 and 1, or between 0 and 100 %',
  });
}

function inKeptUnit(
  column: NamedColumn,
  quantity: QuantityName,
  number: number,
): { value: number; kept: string } {
  const factor = quantity === 'drift' ? driftFactor(column) : null;
  if (factor !== null) return { value: number * factor, kept: 'mV/d' };
  const unit = column.unit as NonNullable<typeof column.unit>;
  return { value: (number * unit.multiply) / unit.divide + unit.add, kept: unit.kept };
}

/** What the warning column says of cells, by serial; rows that say that all is well are left out. */
export function readWarningNotes(table: TableFile, plan: TablePlan): Map<string, string> {
  const notes = new Map<string, string>();
  if (plan.warningAt < 0 || plan.serialAt < 0) return notes;
  for (const row of table.rows) {
    const text = row[plan.warningAt].trim();
    if (text !== '' && !allIsWell.test(text)) {
      notes.set(row[plan.serialAt], `warning sign in the column "${table.header[plan.warningAt]}": ${text}`);
    }
  }
  return notes;
}

/** The number in a field, or null where the field is empty. */
export function numberAt(table: TableFile, row: number, column: number): number | null {
  const text = table.rows[row][column];
  if (text === '' || /^(nan|n\/?a|null|-+)$/i.test(text)) return null;
  const number = parseNumber(text, table.dialect.decimal);
  if (number !== null && Number.isFinite(number)) return number;
  throw new RefusedFile({
    code: number === null ? 'not-a-number' : 'not-finite',
    row: table.lines[row],
    column: table.header[column],
    value: text,
    reason: number === null ? 'This is not a number' : 'The number is not finite',
    expected: 'Write a plain decimal number, or leave the field empty',
  });
}

function emptySerial(table: TableFile, plan: TablePlan, row: number): RefusedFile {
  return new RefusedFile({
    code: 'missing-value',
    row: table.lines[row],
    column: table.header[plan.serialAt],
    value: '',
    reason: 'The row names no cell',
    expected: 'Every row needs the serial of its cell',
  });
}
