import type { QuantityName } from '../../contract/measurements.ts';
import type { ColumnChoice, UnitChoice } from '../columnChoice.ts';
import { requireColumn } from '../columnChoice.ts';
import type { ColumnMapping } from '../columnMapping.ts';
import { columnMapping } from '../columnMapping.ts';
import { parseNumber } from '../fields.ts';
import { cycleNames } from '../fileKind.ts';
import type { NamedColumn } from '../proposeColumns.ts';
import { nameColumns } from '../proposeColumns.ts';
import type { TableFile } from '../readTableFile.ts';
import { RefusedFile } from '../refusedFile.ts';
import { currentSignOf } from '../stateColumn.ts';
import type { Unit } from '../units.ts';
import { parseUnit, unitsOf } from '../units.ts';
import { durationIn } from './duration.ts';
import { noPulses, type PulseColumns, pulseColumns } from './pulseColumns.ts';
import {
  atStateOfCharge,
  quantityOfRole,
  recogniseQuantity,
  uncertaintyBeside,
  unitOfTableQuantity,
} from './quantities.ts';
import { countsCells, serialNames, serialNamesOfTable } from './serials.ts';
import { unitByValues } from './unitsByValues.ts';

/** Names of a column that marks cells which must not be used. */
export const warningNames = /^(warning|warnings|warning sign|flag|damage|damaged)$/;

/** Names of a column that says who, or which fixture, took the reading. */
export const operatorNames = /^(operator|operator name|appraiser|inspector|fixture|fixture position)$/;

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

/** A column that is not used, and why. */
export interface UnusedColumn {
  readonly column: string;
  readonly reason: 'not-recognised' | 'unit-not-stated';
}

/** How the columns of a cell or cycle table were taken. */
export interface TablePlan {
  readonly serialAt: number;
  readonly cycleAt: number;
  readonly socAt: number;
  readonly temperatureAt: number;
  /** Column that marks cells which must not be used, or -1. */
  readonly warningAt: number;
  /** Column of who, or which fixture, took the reading, or -1. */
  readonly operatorAt: number;
  readonly quantities: readonly QuantityColumn[];
  /** Where a row is a pulse: its current, direction and voltages. */
  readonly pulses: PulseColumns;
  readonly unused: readonly UnusedColumn[];
  readonly warnings: readonly string[];
}

/** Columns and units by role, as `--columns` and `--units` give them: `capacity`, `resistance/10s/discharge`, `cell` … */
export interface TableOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
}

type TableHeader = Pick<TableFile, 'header' | 'units' | 'rows' | 'dialect'>;

/**
 * Decides which columns of a table of results are what: explicit choices first, then names and units by the one table of
 * quantities. A column without a unit is taken only where one unit alone makes its numbers possible, and that is said;
 * otherwise it is named as not used.
 *
 * @throws RefusedFile `unknown-column`, `unknown-unit` for choices that do not fit the table
 */
export function planTable(table: TableHeader, options: TableOptions = {}): TablePlan {
  const columns = nameColumns(table.header, table.units);
  const places = conditionPlaces(columns, table, options.columns);
  const chosen = chosenQuantities(columns, table, options);
  const taken = new Set([...Object.values(places), ...chosen.map(({ column }) => column.index)]);
  const found = columns.flatMap((column) => {
    if (taken.has(column.index)) return [];
    const recognised = recogniseQuantity(column);
    // `null` says that the table has no such column.
    if (recognised === null || options.columns?.[recognised.quantity] === null) return [];
    return [{ column, ...recognised }];
  });
  const warnings: string[] = [];
  const uncertain = new Set<number>();
  const unused: UnusedColumn[] = [];
  const quantities: QuantityColumn[] = [...chosen];
  const capacityAh = typicalCapacity(table, [...chosen, ...found]);
  for (const one of found) {
    const given = options.units?.[one.quantity];
    const unit = unitOf(table, one, given, capacityAh);
    if (unit === null) {
      unused.push({ column: one.column.source, reason: 'unit-not-stated' });
      continue;
    }
    quantities.push(quantityColumn(table, columns, one, unit, given, warnings));
  }
  quantities.sort((a, b) => a.column.index - b.column.index);
  for (const { uncertainty } of quantities) if (uncertainty !== null) uncertain.add(uncertainty.index);
  const pulses = pulsesOf(table, columns, quantities);
  const used = new Set([
    ...taken,
    ...uncertain,
    ...quantities.map(({ column }) => column.index),
    ...pulseIndexes(pulses),
  ]);
  const named = new Set(unused.map(({ column }) => column));
  for (const { index, source } of columns)
    if (!used.has(index) && !named.has(source) && source !== '')
      unused.push({ column: source, reason: 'not-recognised' });
  if (quantities.some((q) => q.quantity === 'resistance' && q.durationS === null)) {
    warnings.push('a resistance column does not say after how many seconds it was measured');
  }
  warnings.push(...unusedWarnings(unused));
  return { ...places, quantities, pulses, unused, warnings };
}

/** Pulses are only looked for where a row has resistances or voltages of one. */
function pulsesOf(
  { rows }: TableHeader,
  columns: readonly NamedColumn[],
  quantities: readonly QuantityColumn[],
): PulseColumns {
  const found = pulseColumns(columns, (index) =>
    rows.map((row) => row[index] ?? '').every((word) => Math.abs(currentSignOf(word) ?? 0) === 1),
  );
  const resistances = quantities.some(({ quantity }) => quantity === 'resistance');
  return found.voltages.length > 0 || resistances ? found : noPulses;
}

function pulseIndexes({ currentAt, directionAt, before, voltages }: PulseColumns): number[] {
  return [currentAt, directionAt, before?.column.index ?? -1, ...voltages.map(({ column }) => column.index)];
}

/** The column of the serials of a table, or -1; for whoever needs it before the rows are read. */
export function serialColumn(
  columns: readonly NamedColumn[],
  head: Pick<TableFile, 'header' | 'dialect'>,
  chosen: ColumnChoice = {},
): number {
  return conditionPlaces(columns, head, chosen).serialAt;
}

/** Roles of the columns that say of a row what it is, and not what was measured. */
type ConditionRole = 'cell' | 'cycle' | 'soc' | 'temperature' | 'warning' | 'operator';

/** Columns that a table's rows are distinguished by, and their conditions; -1 where there is none. */
function conditionPlaces(
  columns: readonly NamedColumn[],
  table: Pick<TableFile, 'header' | 'dialect'>,
  chosen: ColumnChoice = {},
) {
  const at = (test: (column: NamedColumn) => boolean): number => columns.find(test)?.index ?? -1;
  const first = (...tests: ((column: NamedColumn) => boolean)[]): number =>
    tests.map(at).find((index) => index >= 0) ?? -1;
  const place = (role: ConditionRole, found: () => number): number => {
    const name = chosen[role];
    if (name === null) return -1;
    return name === undefined ? found() : requireColumn(table.header, name, table.dialect.headerLine);
  };
  return {
    serialAt: place('cell', () =>
      first(
        (c) => c.unit === null && serialNames.test(c.name) && !countsCells.test(c.name),
        (c) => c.unit === null && serialNames.test(c.name),
        (c) => c.unit === null && serialNamesOfTable.test(c.name),
      ),
    ),
    cycleAt: place('cycle', () =>
      first(
        (c) => c.unit === null && /^cycle/.test(c.name),
        (c) => c.name === 'discharges before',
        (c) => c.unit === null && cycleNames.test(c.name),
      ),
    ),
    socAt: place('soc', () =>
      at(
        (c) =>
          /\bsoc\b/.test(c.name) &&
          (c.unit === null || c.unit.quantity === 'fraction') &&
          /^(nominal |target )?soc\b/.test(c.name),
      ),
    ),
    temperatureAt: place('temperature', () =>
      at((c) => c.unit?.quantity === 'temperature' && !/\b(max|min)\b/.test(c.name)),
    ),
    warningAt: place('warning', () => at((c) => c.unit === null && warningNames.test(c.name))),
    operatorAt: place('operator', () => at((c) => c.unit === null && operatorNames.test(c.name))),
  };
}

/** A column with what its name, or a choice, says of it. */
interface Found {
  readonly column: NamedColumn;
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
}

/** Quantities that were assigned by `--columns` or on the page. */
function chosenQuantities(
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

function unitOf(
  table: TableHeader,
  found: Found,
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

function typicalCapacity(table: TableHeader, found: readonly Found[]): number | null {
  for (const { column, quantity } of found) {
    if (quantity !== 'capacity') continue;
    const unit = column.unit ?? unitByValues('capacity', numbersOf(table, column.index), null);
    const numbers = numbersOf(table, column.index).sort((a, b) => a - b);
    const middle = numbers[numbers.length >> 1];
    if (unit !== null && middle > 0) return (middle * unit.multiply) / unit.divide;
  }
  return null;
}

function quantityColumn(
  table: TableHeader,
  columns: readonly NamedColumn[],
  { column, quantity, durationS, direction }: Found,
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

function unusedWarnings(unused: readonly UnusedColumn[]): string[] {
  const unknown = unused
    .filter(({ reason }) => reason === 'not-recognised')
    .map(({ column }) => `"${column}"`);
  return [
    ...unused
      .filter(({ reason }) => reason === 'unit-not-stated')
      .map(({ column }) => `column "${column}" states no unit and was not taken; give it with --units`),
    ...(unknown.length === 0
      ? []
      : [`columns not used: ${unknown.slice(0, 30).join(', ')}${unknown.length > 30 ? ', …' : ''}`]),
  ];
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

/** The columns of a plan as preview and report list them. */
export function tableMapping(plan: TablePlan, header: readonly string[]): ColumnMapping[] {
  const condition = (role: ColumnMapping['role'], index: number): ColumnMapping[] =>
    index < 0 ? [] : [columnMapping(role, { source: header[index], index }, null, null, false)];
  return [
    ...condition('cell', plan.serialAt),
    ...condition('cycle', plan.cycleAt),
    ...condition('soc', plan.socAt),
    ...condition('temperature', plan.temperatureAt),
    ...condition('warning', plan.warningAt),
    ...condition('operator', plan.operatorAt),
    ...condition('current', plan.pulses.currentAt),
    ...condition('state', plan.pulses.directionAt),
    ...plan.pulses.voltages.map(({ column, durationS, unit }) =>
      columnMapping(
        `resistance/${durationS}s` as ColumnMapping['role'],
        column,
        unit,
        column.unitFrom,
        false,
      ),
    ),
    ...plan.quantities.map(({ column, quantity, durationS, direction, unit, unitFrom, signTurned }) => {
      const role = [quantity, durationS === null ? '' : `${durationS}s`, direction ?? '']
        .filter(Boolean)
        .join('/');
      return columnMapping(role as ColumnMapping['role'], column, unit, unitFrom, signTurned);
    }),
  ];
}
