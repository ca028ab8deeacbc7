import type { AgeingAxis } from '../contract/ageingTrack.ts';
import {
  type Age,
  type AgeingSeries,
  conditionColumns,
  gather,
  type RestartedNumbering,
  valueAt,
} from './ageingRows.ts';
import { requireColumn } from './columnChoice.ts';
import { type NamedColumn, nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { serialNames } from './recognise/serials.ts';
import { areThousandths, unitByValues } from './recognise/unitsByValues.ts';
import { RefusedFile } from './refusedFile.ts';
import { numberAt } from './tableQuantities.ts';

/** Columns by header name, where the names do not tell or tell wrongly. */
export interface AgeingColumns {
  readonly cell?: string;
  /** Cycle number, equivalent full cycles, throughput or time. */
  readonly axis?: string;
  readonly capacity?: string;
  readonly resistance?: string;
}

/** A table of ageing data, and how its columns were taken. */
export interface AgeingTable {
  readonly cells: readonly AgeingSeries[];
  readonly axis: AgeingAxis;
  /** Header names of the columns taken. */
  readonly columns: { readonly [role in keyof AgeingColumns]: string | null };
  /** Capacity the table states as rated, where one figure holds for all its rows. */
  readonly ratedCapacityAh: number | null;
  /** Columns that were taken without their name or unit being plain. */
  readonly guessed: readonly string[];
  /** Rows without an age. */
  readonly rowsSkipped: number;
}

const cycleNames = [
  /^(cycle|cycles|cycle (number|index|no|count|id)|n ?cycles?)$/,
  /^(discharge (index|number|count)|discharges before)$/,
  /^check ?up( number| index)?$/,
];

/** What an axis is called, and by what its numbers are divided to give its unit. */
function axisOf(column: NamedColumn): { axis: AgeingAxis; divide: number } | null {
  const { name, unit } = column;
  if (unit === null && cycleNames.some((names) => names.test(name))) return { axis: 'cycle', divide: 1 };
  if (/^(efc|equivalent full cycles?|full equivalent cycles?)$/.test(name)) {
    return { axis: 'equivalent-full-cycles', divide: 1 };
  }
  if (/\bthroughput\b/.test(name) && unit?.quantity === 'charge') {
    return { axis: 'throughput-ah', divide: unit.divide / unit.multiply };
  }
  if (unit?.quantity === 'time' && /^(time|age|elapsed|test time|calendar|storage time)$/.test(name)) {
    return { axis: 'days', divide: (86400 * unit.divide) / unit.multiply };
  }
  return /^days?$/.test(name) ? { axis: 'days', divide: 1 } : null;
}

/** How well a column fits as capacity: higher is better, 0 not at all. */
function capacityRank({ name, unit }: NamedColumn): number {
  if (unit !== null && unit.quantity !== 'charge') return 0;
  if (!/\bcapacity\b/.test(name) || /\b(nominal|rated|initial|throughput|cumulative|retention)\b/.test(name))
    return 0;
  const kind = /\b(discharge|dis|dch)\b/.test(name) ? 3 : /\b(charge|chg)\b/.test(name) ? 1 : 2;
  return unit === null ? kind / 10 : kind;
}

/** The same for resistance. */
function resistanceRank({ name, unit }: NamedColumn): number {
  if (unit !== null && unit.quantity !== 'resistance') return 0;
  if (/\b(imag|imaginary|phase)\b/.test(name)) return 0;
  const plain = /^(internal resistance|resistance|rdc|dc resistance|r|ir)\b/.test(name);
  if (unit === null) return /\bresistance\b/.test(name) ? 0.1 : 0;
  return plain ? 3 : /\bresistance\b/.test(name) ? 2 : 1;
}

/**
 * Takes a table with one row per cycle, check-up or measurement: its cells, ages, capacities and resistances by the names of
 * its columns. A table without a cell column is one cell.
 *
 * @param axis wanted where the table has several
 * @param numbering what is done where the ages of a cell start again
 * @param onlyCell what a table without a cell column calls its cell
 * @throws RefusedFile naming the column, row or value that cannot be taken
 */
export function readAgeingTable(
  table: TableFile,
  onlyCell: string,
  chosen: AgeingColumns = {},
  axis: AgeingAxis | null = null,
  numbering: RestartedNumbering = 'refuse',
): AgeingTable {
  const columns = nameColumns(table.header, table.units);
  const headerLine = table.dialect.headerLine;
  const named = (name: string | undefined): NamedColumn | null =>
    name === undefined ? null : columns[requireColumn(table.header, name, headerLine)];
  const cell = named(chosen.cell) ?? columns.find((c) => c.unit === null && serialNames.test(c.name)) ?? null;
  const age = findAge(columns, named(chosen.axis), axis, headerLine);
  const stated = {
    capacity: named(chosen.capacity) ?? best(columns, capacityRank),
    resistance: named(chosen.resistance) ?? best(columns, resistanceRank),
  };
  const capacity = inItsUnit(table, stated.capacity, 'capacity');
  const resistance = inItsUnit(table, stated.resistance, 'resistance');
  if (capacity === null && resistance === null) {
    throw new RefusedFile({
      code: 'missing-column',
      row: headerLine,
      reason: 'No column is recognised as a capacity or a resistance',
      expected:
        'Name one capacity_Ah or resistance_ohm, or say which with --columns capacity=NAME,resistance=NAME',
    });
  }
  const { series, rowsSkipped } = gather(
    table,
    { cell, age, capacity, resistance, numbering, conditions: conditionColumns(columns) },
    onlyCell,
  );
  return {
    cells: series,
    axis: age.axis,
    columns: {
      cell: cell?.source ?? null,
      axis: age.column.source,
      capacity: capacity?.source ?? null,
      resistance: resistance?.source ?? null,
    },
    ratedCapacityAh: ratedOf(table, columns),
    guessed: guessedColumns(columns, stated.capacity, stated.resistance, chosen),
    rowsSkipped,
  };
}

/**
 * A column with the unit that its values leave where it states none.
 *
 * @throws RefusedFile `unknown-unit` where nearly all values are thousandths of the unit that is stated
 */
function inItsUnit(
  table: TableFile,
  column: NamedColumn | null,
  quantity: 'capacity' | 'resistance',
): NamedColumn | null {
  if (column === null) return null;
  const numbers = table.rows.flatMap((_, row) => {
    const value = numberAt(table, row, column.index);
    return value !== null && value > 0 ? [value] : [];
  });
  const own = column.unit ?? unitByValues(quantity, numbers, null);
  const { multiply, divide } = own ?? { multiply: 1, divide: 1 };
  if (
    areThousandths(
      quantity,
      numbers.map((number) => (number * multiply) / divide),
    )
  ) {
    const [stated, likely] = quantity === 'capacity' ? ['Ah', 'mAh'] : ['ohm', 'mohm'];
    throw new RefusedFile({
      code: 'unknown-unit',
      row: table.lines[0],
      column: column.source,
      value: String(numbers[0]),
      reason: `In ${stated} these values are no lithium cell’s, in ${likely} they are`,
      expected: `Write ${likely} into the header if that is what they are`,
    });
  }
  return own === column.unit ? column : { ...column, unit: own };
}

function best(columns: readonly NamedColumn[], rank: (column: NamedColumn) => number): NamedColumn | null {
  let found: NamedColumn | null = null;
  let highest = 0;
  for (const column of columns) {
    const here = rank(column);
    if (here > highest) {
      highest = here;
      found = column;
    }
  }
  return found;
}

function findAge(
  columns: readonly NamedColumn[],
  chosen: NamedColumn | null,
  wanted: AgeingAxis | null,
  headerLine: number | null,
): Age {
  if (chosen !== null)
    return { column: chosen, ...(axisOf(chosen) ?? { axis: wanted ?? 'cycle', divide: 1 }) };
  const candidates = columns.flatMap((column) => {
    const found = axisOf(column);
    return found === null || (wanted !== null && found.axis !== wanted) ? [] : [{ column, ...found }];
  });
  const rank = ({ axis, column }: Age): number =>
    axis === 'cycle' ? cycleNames.findIndex((names) => names.test(column.name)) : 10;
  candidates.sort((a, b) => rank(a) - rank(b));
  if (candidates.length > 0) return candidates[0];
  throw new RefusedFile({
    code: 'missing-column',
    row: headerLine,
    reason:
      wanted === null
        ? 'No column is recognised as the age of a cell'
        : `No column gives the age as ${wanted}`,
    expected: 'Name one cycle, efc, throughput_Ah or time_d, or say which with --columns axis=NAME',
  });
}

function ratedOf(table: TableFile, columns: readonly NamedColumn[]): number | null {
  const column = columns.find(
    (c) => c.unit?.quantity === 'charge' && /\b(nominal|rated)\b/.test(c.name) && /\bcapacity\b/.test(c.name),
  );
  if (column === undefined) return null;
  const values = new Set(table.rows.map((_, i) => valueAt(table, i, column)).filter((v) => v > 0));
  return values.size === 1 ? ([...values][0] ?? null) : null;
}

function guessedColumns(
  columns: readonly NamedColumn[],
  capacity: NamedColumn | null,
  resistance: NamedColumn | null,
  chosen: AgeingColumns,
): string[] {
  const guessed: string[] = [];
  if (capacity !== null && capacity.unit === null) guessed.push(capacity.source);
  const rivals = columns.filter(
    (c) => c !== resistance && resistance !== null && resistanceRank(c) === resistanceRank(resistance),
  );
  if (
    resistance !== null &&
    chosen.resistance === undefined &&
    (resistance.unit === null || rivals.length > 0)
  ) {
    guessed.push(resistance.source);
  }
  return guessed;
}
