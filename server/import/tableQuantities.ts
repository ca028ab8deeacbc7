import type { QuantityName } from '../contract/measurements.ts';
import { parseNumber } from './fields.ts';
import { nameColumns } from './proposeColumns.ts';
import { PulseRows } from './pulseRows.ts';
import type { TableFile } from './readTableFile.ts';
import type { TablePlan } from './recognise/tablePlan.ts';
import type { QuantityColumn } from './recognise/tableQuantityColumns.ts';
import { RefusedFile } from './refusedFile.ts';

/** Texts in such a column that say that all is well. */
export const allIsWell = /^(0|no|none|ok|pass|false|good|nein|keine|i\.? ?o\.?|-)$/i;

/** One quantity of a table, as it will be a measurement. */
export interface TableValue {
  readonly serial: string | null;
  readonly quantity: QuantityName;
  readonly value: number;
  readonly unit: string;
  readonly standardUncertainty: number | null;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  readonly soc: number | null;
  readonly temperatureC: number | null;
  readonly cycle: number | null;
  /** Of the row's pulse, positive on charge; null where the row states none. */
  readonly currentA: number | null;
  /** Who, or which fixture, took the reading; null where the row does not say. */
  readonly operator: string | null;
  /** Header of the column it came from. */
  readonly column: string;
  /** Line of the file, 1 for the first, as in refusals. */
  readonly row: number;
}

/**
 * The values of a cell, pulse or cycle table, in order.
 *
 * @param warnings takes what must be said of how the pulses were read
 * @throws RefusedFile naming row, column and value of what is not a number
 */
export function readQuantities(table: TableFile, plan: TablePlan, warnings: string[] = []): TableValue[] {
  const values: TableValue[] = [];
  const pulses = new PulseRows(table, plan.pulses);
  warnings.push(...pulses.warnings);
  const seen = new Set<string>();
  const socInPercent = isSocInPercent(table, plan);
  const temperatureUnit = nameColumns(table.header, table.units)[plan.temperatureAt]?.unit ?? null;
  table.rows.forEach((row, i) => {
    const cell = plan.serialAt < 0 ? null : row[plan.serialAt];
    if (cell === '') throw emptySerial(table, plan, i);
    const condition = (at: number): number | null => (at < 0 ? null : numberAt(table, i, at));
    const written = condition(plan.temperatureAt);
    const temperatureC =
      written === null || temperatureUnit === null
        ? written
        : written * temperatureUnit.multiply + temperatureUnit.add;
    const soc = socOf(table, plan, i, condition(plan.socAt), socInPercent);
    const cycle = condition(plan.cycleAt);
    const operator = plan.operatorAt < 0 ? null : row[plan.operatorAt].trim() || null;
    const pulse = pulses.currentOf(i);
    for (const taken of plan.quantities) {
      const { column, quantity, durationS, direction, atSoc } = taken;
      const value = quantityAt(table, taken, i);
      if (value === null) continue;
      // Tables with a row per state of charge repeat what belongs to the cell as a whole.
      if (plan.socAt >= 0 && !atSoc) {
        const key = JSON.stringify([cell, operator, quantity, cycle, value.value, column.source]);
        if (seen.has(key)) continue;
        seen.add(key);
      }
      const ofPulse = quantity === 'resistance' || quantity === 'rdc';
      values.push({
        serial: cell,
        temperatureC,
        cycle,
        operator,
        row: table.lines[i],
        quantity,
        value: value.value,
        standardUncertainty: value.standardUncertainty,
        unit: taken.unit.kept,
        durationS,
        direction: direction ?? (quantity === 'resistance' ? pulse.direction : null),
        soc: atSoc ? soc : null,
        currentA: ofPulse ? pulse.currentA : null,
        column: column.source,
      });
    }
    for (const resistance of pulses.resistancesOf(i))
      values.push({
        serial: cell,
        temperatureC,
        cycle,
        operator,
        row: table.lines[i],
        ...resistance,
        quantity: 'resistance',
        unit: 'Ohm',
        standardUncertainty: null,
        soc,
      });
  });
  return values;
}

/** The value of a column in a row with its uncertainty, in the unit we keep; null where the field is empty. */
export function quantityAt(
  table: TableFile,
  { column, unit, signTurned, uncertainty }: QuantityColumn,
  row: number,
): { value: number; standardUncertainty: number | null } | null {
  const number = numberAt(table, row, column.index);
  if (number === null) return null;
  const value = (number * unit.multiply) / unit.divide + unit.add;
  const spread = uncertainty === null ? null : numberAt(table, row, uncertainty.index);
  return {
    value: signTurned ? 0 - value : value,
    standardUncertainty:
      spread === null || uncertainty === null
        ? null
        : Math.abs((spread * uncertainty.unit.multiply) / uncertainty.unit.divide),
  };
}

/** A fraction counted a little past full is none of percent: it is refused, and not read as a hundredth. */
export const ABOVE_FRACTIONS = 1.5;

/** Whether the column of the state of charge is in percent: by its unit, or because one of its values is not a fraction. */
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
