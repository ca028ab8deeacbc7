import type { AgeingAxis } from '../contract/ageingTrack.ts';
import type { NamedColumn } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { numberAt } from './tableQuantities.ts';

/** The series of one cell as read: ages and values in the order of the rows, NaN where a field is empty. */
export interface AgeingSeries {
  readonly cell: string;
  readonly x: Float64Array;
  readonly capacityAh: Float64Array | null;
  readonly resistanceOhm: Float64Array | null;
  /** Values of the columns that state a condition of the cycling, by their header names, as many as `x`. */
  readonly conditions: Readonly<Record<string, StatedCondition>>;
}

/** A condition of the cycling as its column states it: in °C, A, C or V. */
export interface StatedCondition {
  readonly kind: 'temperature' | 'current' | 'voltage';
  readonly values: readonly number[];
}

/** What is done where the ages of a cell start again: the table is refused, they are counted on, or equal ages are averaged. */
export type RestartedNumbering = 'refuse' | 'continue' | 'average';

/** The column that counts life. */
export interface Age {
  readonly column: NamedColumn;
  readonly axis: AgeingAxis;
  readonly divide: number;
}

/** The condition a column states: what the tester was set to, not what the cell did. */
function conditionKind({ name, unit }: NamedColumn): StatedCondition['kind'] | null {
  if (/\b(ambient|chamber|oven)\b.*\btemperature\b/.test(name)) return 'temperature';
  if (/\bcut ?off\b.*\bvoltage\b/.test(name)) return 'voltage';
  if (/\b(charge|discharge|load)\b.*\bcurrent\b/.test(name) && unit?.quantity === 'current') return 'current';
  return /^((charge|discharge) )?c ?rate$|\b(charge|discharge) rate\b/.test(name) ? 'current' : null;
}

/** The columns that are taken, and what is done where the ages of a cell start again. */
export interface Taken {
  readonly cell: NamedColumn | null;
  readonly age: Age;
  readonly capacity: NamedColumn | null;
  readonly resistance: NamedColumn | null;
  readonly numbering: RestartedNumbering;
  readonly conditions: readonly ConditionColumn[];
}

/** A column that states a condition. */
export interface ConditionColumn {
  readonly column: NamedColumn;
  readonly kind: StatedCondition['kind'];
}

/** The columns of a table that state conditions of the cycling. */
export function conditionColumns(columns: readonly NamedColumn[]): ConditionColumn[] {
  return columns.flatMap((column) => {
    const kind = conditionKind(column);
    return kind === null ? [] : [{ column, kind }];
  });
}

/** The rows of one cell while they are gathered. */
interface CellRows {
  readonly x: number[];
  readonly capacity: number[];
  readonly resistance: number[];
  readonly conditions: number[][];
  /** Place of each row in the table. */
  readonly places: number[];
  /** Highest age as stated since the numbering last started again, and what is added to it. */
  highest: number;
  offset: number;
  /** Ages at which each quantity was given, to tell a numbering that starts again from rows in another order. */
  readonly given: { readonly capacity: Set<number>; readonly resistance: Set<number> };
}

const newRows = (conditions: number): CellRows => ({
  x: [],
  capacity: [],
  resistance: [],
  conditions: Array.from({ length: conditions }, () => []),
  places: [],
  highest: -1,
  offset: 0,
  given: { capacity: new Set(), resistance: new Set() },
});

/** The series of every cell of a table, in the order of its rows. @throws RefusedFile naming the row that cannot be taken */
export function gather(
  table: TableFile,
  taken: Taken,
  onlyCell: string,
): { series: AgeingSeries[]; rowsSkipped: number } {
  const rows = new Map<string, CellRows>();
  let rowsSkipped = 0;
  table.rows.forEach((row, i) => {
    const cell = taken.cell === null ? onlyCell : row[taken.cell.index];
    if (cell === '') {
      throw new RefusedFile({
        code: 'missing-value',
        row: table.lines[i],
        column: taken.cell?.source,
        value: '',
        reason: 'The row names no cell',
        expected: 'Every row needs its cell',
      });
    }
    const age = numberAt(table, i, taken.age.column.index);
    if (age === null) {
      rowsSkipped++;
      return;
    }
    if (age < 0) {
      throw new RefusedFile({
        code: 'not-a-number',
        row: table.lines[i],
        column: taken.age.column.source,
        value: String(age),
        reason: 'An age cannot be negative',
        expected: 'Count from 0 on',
      });
    }
    const own = rows.get(cell) ?? newRows(taken.conditions.length);
    rows.set(cell, own);
    take(own, age / taken.age.divide, { table, row: i, cell, taken });
  });
  const filled = (values: number[], column: NamedColumn | null): Float64Array | null =>
    column === null || values.every(Number.isNaN) ? null : Float64Array.from(values);
  for (const [cell, own] of rows) refuseTwoUnits(table, taken, cell, own);
  const series = [...rows].map(([cell, { x, capacity, resistance, conditions }]) => ({
    cell,
    x: Float64Array.from(x),
    capacityAh: filled(capacity, taken.capacity),
    resistanceOhm: filled(resistance, taken.resistance),
    conditions: Object.fromEntries(
      taken.conditions.map(({ column, kind }, k) => [column.source, { kind, values: conditions[k] }]),
    ),
  }));
  return { series, rowsSkipped };
}

/** Takes one row of a cell; a numbering that starts again is refused, counted on or left. */
function take(
  own: CellRows,
  stated: number,
  { table, row, cell, taken }: { table: TableFile; row: number; cell: string; taken: Taken },
): void {
  const capacity = valueAt(table, row, taken.capacity);
  const resistance = valueAt(table, row, taken.resistance);
  const { given } = own;
  const repeats =
    (Number.isFinite(capacity) && given.capacity.has(stated)) ||
    (Number.isFinite(resistance) && given.resistance.has(stated));
  const startsAgain = stated < own.highest && repeats;
  if (startsAgain && taken.numbering === 'refuse') {
    throw new RefusedFile({
      code: 'ages-start-again',
      row: table.lines[row],
      column: taken.age.column.source,
      value: String(stated),
      reason: `The ages of cell ${cell} start again: ${own.highest} comes before ${stated}, which it had already`,
      expected:
        'Count on over the whole life; or say --numbering continue where the test went on, --numbering average where the rows repeat the same ages',
    });
  }
  if (startsAgain && taken.numbering === 'continue') {
    own.offset += own.highest;
    own.highest = -1;
    given.capacity.clear();
    given.resistance.clear();
  }
  own.highest = Math.max(own.highest, stated);
  if (Number.isFinite(capacity)) given.capacity.add(stated);
  if (Number.isFinite(resistance)) given.resistance.add(stated);
  own.places.push(row);
  own.x.push(own.offset + stated);
  own.capacity.push(capacity);
  own.resistance.push(resistance);
  taken.conditions.forEach(({ column }, k) => {
    own.conditions[k].push(conditionAt(table, row, column));
  });
}

/** Values that follow one another and differ by a factor in this range are in thousandths of one unit and in the unit itself. */
const THOUSAND = [600, 1600] as const;
/** So many rows on either side show that it is not a single wrong row. */
const ROWS_BESIDE = 3;

/** @throws RefusedFile at the row where a column goes over to another unit, such as from Ah to mAh */
function refuseTwoUnits(table: TableFile, taken: Taken, cell: string, own: CellRows): void {
  for (const [column, values] of [
    [taken.capacity, own.capacity],
    [taken.resistance, own.resistance],
  ] as const) {
    if (column === null) continue;
    const known = values.flatMap((value, i) => (value > 0 ? [{ value, place: own.places[i] }] : []));
    for (let i = ROWS_BESIDE; i + ROWS_BESIDE <= known.length; i++) {
      const before = known.slice(i - ROWS_BESIDE, i).map(({ value }) => value);
      const after = known.slice(i, i + ROWS_BESIDE).map(({ value }) => value);
      const rises = Math.min(...after) / Math.max(...before);
      const falls = Math.min(...before) / Math.max(...after);
      const factor = Math.max(rises, falls);
      if (!(factor > THOUSAND[0] && factor < THOUSAND[1])) continue;
      throw new RefusedFile({
        code: 'unknown-unit',
        row: table.lines[known[i].place],
        column: column.source,
        value: table.rows[known[i].place][column.index],
        reason: `From here on the values of cell ${cell} are ${rises > falls ? 'about a thousand times' : 'about a thousandth of'} those before: the column changes its unit`,
        expected: 'One unit in one column',
      });
    }
  }
}

/** A stated condition; a field that is not a number states none. */
function conditionAt(table: TableFile, row: number, column: NamedColumn): number {
  const text = table.rows[row][column.index].trim();
  const number = text === '' ? Number.NaN : Number(text);
  const { multiply, divide } = column.unit ?? { multiply: 1, divide: 1 };
  return (number * multiply) / divide;
}

/** A field in the base unit of its column; NaN where it is empty. */
export function valueAt(table: TableFile, row: number, column: NamedColumn | null): number {
  const number = column === null ? null : numberAt(table, row, column.index);
  if (number === null) return Number.NaN;
  const unit = column?.unit ?? null;
  return unit === null ? number : (number * unit.multiply) / unit.divide;
}
