import type { QuantityName } from '../../contract/measurements.ts';
import type { ColumnChoice, UnitChoice } from '../columnChoice.ts';
import { requireColumn } from '../columnChoice.ts';
import type { ColumnMapping } from '../columnMapping.ts';
import { parseNumber } from '../fields.ts';
import type { NamedColumn } from '../proposeColumns.ts';
import type { TableFile } from '../readTableFile.ts';
import { RefusedFile } from '../refusedFile.ts';
import type { Unit } from '../units.ts';
import { parseUnit, unitsOf } from '../units.ts';
import { durationIn } from './duration.ts';
import { atStateOfCharge, quantityOfRole, uncertaintyBeside, unitOfTableQuantity } from './quantities.ts';
import { unitByValues } from './unitsByValues.ts';

/** A column of a table that holds a quantity, and how its numbers become values. */
export interface QuantityColumn {
  readonly column: NamedColumn;
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  /** Whether the value belongs to the row's state of charge. */
  readonly atSoc: boolean;
  readonly unit: Unit;
  readonly unitFrom: ColumnMapping['unitFrom'];
  /** True where the file counts a loss of voltage as positive. Kept is the change of the voltage, negative for a loss. */
  readonly signTurned: boolean;
  /** The column of its standard uncertainty, with the unit of that. */
  readonly uncertainty: { readonly index: number; readonly unit: Unit } | null;
}

/** Columns and units by role, as `--columns` and `--units` give them: `capacity`, `resistance/10s/discharge`, `cell` … */
export interface TableOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
}

/** What of a table decides on its columns. */
export type TableHeader = Pick<TableFile, 'header' | 'units' | 'rows' | 'dialect'>;

/** A column with what its name, or a choice, says of it. */
export interface FoundQuantity {
  readonly column: NamedColumn;
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
}

/**
 * Quantities that were assigned by `--columns` or on the page.
 *
 * @throws RefusedFile `unknown-column`, `unknown-unit` for choices that do not fit the table
 */
export function chosenQuantities(
  columns: readonly NamedColumn[],
  table: TableHeader,
  { columns: chosen = {}, units = {} }: TableOptions,
): QuantityColumn[] {
  return Object.entries(chosen).flatMap(([role, name]): QuantityColumn[] => {
    const found = quantityOfRole(role);
    if (found === null || typeof name !== 'string') return [];
    const column = columns[requireColumn(table.header, name, table.dialect.headerLine)];
    const named = {
      column,
      ...found,
      durationS: found.durationS ?? (found.quantity === 'resistance' ? durationIn(column.name) : null),
    };
    const given = units[role as keyof UnitChoice] ?? units[found.quantity];
    const unit = unitOf(table, named, given, null);
    if (unit === null) throw unitMissing(table, column, found.quantity, role);
    return [quantityColumn(table, columns, named, unit, given, [])];
  });
}

/**
 * The unit of a column: the given one, the stated one, or the only one in which its values are possible; null where none is.
 *
 * @param capacityAh typical capacity of the table's cells in Ah, null where there is none
 * @throws RefusedFile `unknown-unit` where the given one is not of the quantity
 */
export function unitOf(
  table: TableHeader,
  found: FoundQuantity,
  given: string | undefined,
  capacityAh: number | null,
): Unit | null {
  const { column, quantity } = found;
  const wanted = unitOfTableQuantity(quantity);
  if (given !== undefined) {
    const unit = parseUnit(given);
    if (unit !== null && unit.quantity === wanted) return unit;
    throw new RefusedFile({
      code: 'unknown-unit',
      row: table.dialect.unitsLine ?? table.dialect.headerLine,
      column: column.source,
      value: given,
      reason: `Not a unit of ${quantity}`,
      expected: `Units understood are ${wanted === null ? 'none' : unitsOf(wanted).join(', ')}`,
    });
  }
  if (column.unit !== null) return column.unit.quantity === wanted ? column.unit : null;
  return unitByValues(quantity, numbersOf(table, column.index), capacityAh);
}

/** Numbers of a column; texts and empty fields are left out, because here only a unit is looked for. */
function numbersOf(table: TableHeader, index: number): number[] {
  return table.rows.flatMap((row) => {
    const number = parseNumber(row[index] ?? '', table.dialect.decimal);
    return number === null || !Number.isFinite(number) ? [] : [number];
  });
}

/** The median capacity of a table in Ah; null where it holds none. */
export function typicalCapacity(table: TableHeader, found: readonly FoundQuantity[]): number | null {
  for (const { column, quantity } of found) {
    if (quantity !== 'capacity') continue;
    const unit = column.unit ?? unitByValues('capacity', numbersOf(table, column.index), null);
    const numbers = numbersOf(table, column.index).sort((a, b) => a - b);
    const middle = numbers[numbers.length >> 1];
    if (unit !== null && middle > 0) return (middle * unit.multiply) / unit.divide;
  }
  return null;
}

/** How the numbers of one column become values; what was decided for it is added to `warnings`. */
export function quantityColumn(
  table: TableHeader,
  columns: readonly NamedColumn[],
  { column, quantity, durationS, direction }: FoundQuantity,
  unit: Unit,
  given: string | undefined,
  warnings: string[],
): QuantityColumn {
  const stated = column.unit !== null;
  if (!stated && given === undefined)
    warnings.push(
      `column "${column.source}" states no unit; ${unit.symbol} was taken, the only one in which its values are possible`,
    );
  const signTurned = quantity === 'drift' && countsLossPositive(table, column);
  if (signTurned)
    warnings.push(
      `column "${column.source}" counts a loss of voltage as positive; it is kept as the change, negative`,
    );
  const beside = uncertaintyBeside(columns, column);
  const besideUnit = beside?.unit?.quantity === unit.quantity ? beside.unit : unit;
  return {
    column,
    quantity,
    durationS,
    direction,
    atSoc: atStateOfCharge.has(quantity),
    unit,
    unitFrom: given !== undefined ? 'given' : stated ? column.unitFrom : 'values',
    signTurned,
    uncertainty: beside === null ? null : { index: beside.index, unit: besideUnit },
  };
}

/** A self-discharge or K value is a loss and mostly written without its minus; a drift is a change with its sign. */
function countsLossPositive(table: TableHeader, column: NamedColumn): boolean {
  if (/\bdrift\b|^delta\b/.test(column.name)) return false;
  const numbers = numbersOf(table, column.index).sort((a, b) => a - b);
  return numbers.length > 0 && numbers[numbers.length >> 1] > 0;
}

function unitMissing(
  table: TableHeader,
  column: NamedColumn,
  quantity: QuantityName,
  role: string,
): RefusedFile {
  const wanted = unitOfTableQuantity(quantity);
  return new RefusedFile({
    code: 'unknown-unit',
    row: table.dialect.headerLine,
    column: column.source,
    value: column.unitText,
    reason: `The column states no unit of ${quantity}`,
    expected: `Give it with --units ${role}=UNIT, one of ${wanted === null ? 'none' : unitsOf(wanted).join(', ')}`,
  });
}
