import type { ColumnChoice, ColumnRole, UnitChoice } from './columnChoice.ts';
import { requireColumn } from './columnChoice.ts';
import type { Dialect, TableHead } from './dialect.ts';
import { parseNumber } from './fields.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { candidatesFor, isNumeric, keyColumns, nameColumns, requiredRoles } from './proposeColumns.ts';
import { RefusedFile } from './refusedFile.ts';
import { findStateColumn } from './stateColumn.ts';
import type { TimeFormat } from './timeText.ts';
import { timeFormatOf } from './timeText.ts';
import type { Quantity, Unit } from './units.ts';
import { parseUnit, unitsOf } from './units.ts';

/** How one column of the file was taken. */
export interface ColumnMapping {
  /** What it is: a role, or `extra` for any other column of numbers. */
  readonly role: ColumnRole | 'extra';
  /** Name in the header, and its place, 0 for the first. */
  readonly source: string;
  readonly index: number;
  /** Unit of the file's numbers; null where the column has none. */
  readonly unit: string | null;
  /** Who said so. `assumed`: nobody, the unit we keep was taken. */
  readonly unitFrom: 'header' | 'units-row' | 'given' | 'assumed' | null;
  /** Unit of the values we give out: V, A, s, °C …; the file's own for `extra`. */
  readonly keptUnit: string | null;
  /** Set where the current's sign was turned round. */
  readonly signTurned: boolean;
}

/** A column as it was taken: its numbers in `unit`, kept in the unit that stands for it. */
export function columnMapping(
  role: ColumnMapping['role'],
  column: Pick<NamedColumn, 'source' | 'index'>,
  unit: Pick<Unit, 'symbol' | 'kept'> | null,
  unitFrom: ColumnMapping['unitFrom'],
  signTurned: boolean,
): ColumnMapping {
  return {
    role,
    source: column.source,
    index: column.index,
    unit: unit?.symbol ?? null,
    unitFrom,
    keptUnit: unit?.kept ?? null,
    signTurned,
  };
}

/** A column whose numbers are read, with the conversion to the unit we keep. */
export interface NumberColumn {
  readonly mapping: ColumnMapping;
  readonly unit: Unit | null;
  readonly negate: boolean;
  /** A missing value refuses the file where true, and becomes NaN where false. */
  readonly required: boolean;
}

/** All that the row parser needs to know about a file. */
export interface RecordPlan {
  readonly dialect: Dialect;
  readonly header: readonly string[];
  readonly numbers: readonly NumberColumn[];
  /** Columns whose change begins another run, compared as text. */
  readonly keys: readonly ColumnMapping[];
  /** Place of the cycle column in `numbers`, or -1. Where it changes, time may begin afresh. */
  readonly cycleAt: number;
  readonly timeFormat: TimeFormat;
  /** The column of words that states charge, discharge or rest, where the current's sign is checked against it. */
  readonly stateColumn: Pick<NamedColumn, 'index' | 'source'> | null;
  readonly warnings: readonly string[];
}

export interface PlanOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** How the file signs current. Default: positive is charge. */
  readonly currentSign?: 'charge-positive' | 'discharge-positive';
  /** Columns whose change of value begins another run, instead of the proposed ones. An empty list: one run. */
  readonly runColumns?: readonly string[];
  /** Whether the file's other columns of numbers are read too. Default true. */
  readonly keepExtra?: boolean;
}

const quantityOf: Readonly<Record<string, Quantity>> = {
  time: 'time',
  voltage: 'voltage',
  current: 'current',
  temperature: 'temperature',
};
const keptUnitOf: Readonly<Record<string, string>> = {
  time: 's',
  voltage: 'V',
  current: 'A',
  temperature: '°C',
};

/**
 * Decides which column is what: explicit choices first, then names and units.
 *
 * @throws RefusedFile `missing-column`, `ambiguous-column`, `unknown-column`, `unknown-unit`
 */
export function planRecord(head: TableHead, options: PlanOptions = {}): RecordPlan {
  const columns = nameColumns(head.header, head.units);
  const warnings: string[] = [];
  const chosen = chooseRoles(head, columns, options, warnings);
  const keys = chooseKeys(head, columns, options);
  const keyed = new Set(keys.map((key) => key.index));
  const numbers: NumberColumn[] = [];
  for (const role of ['time', 'voltage', 'current', 'temperature', 'step', 'cycle'] as const) {
    const column = chosen.get(role);
    if (column === undefined || keyed.has(column.index)) continue;
    numbers.push(numberColumn(role, column, options, warnings, head));
  }
  const cycleAt = numbers.findIndex((column) => column.mapping.role === 'cycle');
  const timeFormat = timeFormatOf(head.firstRows.map((row) => row[chosen.get('time')!.index] ?? ''));
  if (options.keepExtra !== false) {
    const taken = new Set([...keyed, ...numbers.map((column) => column.mapping.index)]);
    for (const column of columns) {
      if (taken.has(column.index) || column.source === '') continue;
      if (!isNumeric(column.index, head.firstRows, (t) => parseNumber(t, head.dialect.decimal))) continue;
      numbers.push(extraColumn(column));
    }
  }
  // A sign that was stated is not questioned.
  const free = columns.filter((column) => !numbers.some(({ mapping }) => mapping.index === column.index));
  const stateColumn =
    options.currentSign === undefined
      ? findStateColumn(
          free.filter((column) => !keyed.has(column.index)),
          head.firstRows,
        )
      : null;
  return {
    dialect: head.dialect,
    header: head.header,
    numbers,
    keys,
    cycleAt,
    timeFormat,
    stateColumn,
    warnings,
  };
}

type NumberRole = 'time' | 'voltage' | 'current' | 'temperature' | 'step' | 'cycle';

function chooseRoles(
  head: TableHead,
  columns: readonly NamedColumn[],
  options: PlanOptions,
  warnings: string[],
): Map<NumberRole, NamedColumn> {
  const chosen = new Map<NumberRole, NamedColumn>();
  for (const role of ['time', 'voltage', 'current', 'temperature', 'step', 'cycle'] as const) {
    const given = options.columns?.[role];
    if (given === null) continue;
    if (given !== undefined) {
      chosen.set(role, columns[requireColumn(head.header, given, head.dialect.headerLine)]);
      continue;
    }
    const taken = new Set([...chosen.values()].map((column) => column.index));
    const found = candidatesFor(role, columns).filter(({ column }) => !taken.has(column.index));
    if (found.length === 0) continue;
    const equal = found
      .filter(({ score }) => score === found[0].score)
      .map(({ column }) => `"${column.source}"`);
    if (equal.length > 1 && requiredRoles.includes(role)) {
      throw new RefusedFile({
        code: 'ambiguous-column',
        row: head.dialect.headerLine,
        column: found[0].column.source,
        reason: `Several columns could be the ${role}: ${equal.join(', ')}`,
        expected: `Say which one it is: --columns ${role}=NAME`,
      });
    }
    if (equal.length > 1) warnings.push(`${role}: ${equal.join(', ')} are alike; the first was taken`);
    chosen.set(role, found[0].column);
  }
  for (const role of ['time', 'voltage', 'current'] as const) {
    if (!chosen.has(role)) throw missingColumn(head, role);
  }
  return chosen;
}

function missingColumn(head: TableHead, role: NumberRole): RefusedFile {
  return new RefusedFile({
    code: 'missing-column',
    row: head.dialect.headerLine,
    column: role,
    reason: `No column is recognised as the ${role}`,
    expected: `Columns are ${head.header.map((name) => `"${name}"`).join(', ')}; say which one with --columns ${role}=NAME`,
  });
}

function chooseKeys(head: TableHead, columns: readonly NamedColumn[], options: PlanOptions): ColumnMapping[] {
  const keyMapping = (role: 'cell' | 'run', column: NamedColumn): ColumnMapping => ({
    role,
    source: column.source,
    index: column.index,
    unit: null,
    unitFrom: null,
    keptUnit: null,
    signTurned: false,
  });
  const proposed = keyColumns(columns, head.firstRows);
  const keys: ColumnMapping[] = [];
  const given = (name: string): NamedColumn =>
    columns[requireColumn(head.header, name, head.dialect.headerLine)];
  if (typeof options.columns?.cell === 'string') keys.push(keyMapping('cell', given(options.columns.cell)));
  else if (options.columns?.cell !== null && options.runColumns === undefined) {
    for (const column of proposed.cell.slice(0, 1)) keys.push(keyMapping('cell', column));
  }
  const runs =
    options.runColumns ??
    (typeof options.columns?.run === 'string'
      ? [options.columns.run]
      : options.columns?.run === null
        ? []
        : null);
  if (runs !== null) for (const name of runs) keys.push(keyMapping('run', given(name)));
  else for (const column of proposed.run) keys.push(keyMapping('run', column));
  return keys;
}

function numberColumn(
  role: NumberRole,
  column: NamedColumn,
  options: PlanOptions,
  warnings: string[],
  head: TableHead,
): NumberColumn {
  const quantity = quantityOf[role];
  const givenText = options.units?.[role];
  let unit: Unit | null = column.unit;
  let unitFrom: ColumnMapping['unitFrom'] = column.unitFrom;
  if (givenText !== undefined) {
    unit = parseUnit(givenText);
    unitFrom = 'given';
    if (unit === null || unit.quantity !== quantity) throw unknownUnit(role, column, givenText, head);
  } else if (quantity === undefined) {
    unit = null;
    unitFrom = null;
  } else if (unit === null || unit.quantity !== quantity) {
    // A unit that stands there but means nothing to us must not be guessed at.
    if (column.unitText !== null && looksLikeUnit(column.unitText)) {
      throw unknownUnit(role, column, column.unitText, head);
    }
    unit = parseUnit(keptUnitOf[role]);
    unitFrom = 'assumed';
    warnings.push(`${role}: column "${column.source}" states no unit; ${keptUnitOf[role]} was taken`);
  }
  const negate = role === 'current' && options.currentSign === 'discharge-positive';
  return {
    mapping: columnMapping(role, column, unit, unitFrom, negate),
    unit,
    negate,
    required: role !== 'step' && role !== 'cycle',
  };
}

function looksLikeUnit(text: string): boolean {
  return /^[A-Za-zµμΩ°%]{1,6}$/.test(text.trim());
}

function unknownUnit(role: ColumnRole, column: NamedColumn, text: string, head: TableHead): RefusedFile {
  const quantity = quantityOf[role];
  return new RefusedFile({
    code: 'unknown-unit',
    row: head.dialect.unitsLine ?? head.dialect.headerLine,
    column: column.source,
    value: text,
    reason: quantity === undefined ? `The ${role} has no unit` : `Not a unit of ${quantity}`,
    expected:
      quantity === undefined
        ? 'Leave the unit out'
        : `Units understood are ${unitsOf(quantity).join(', ')}; give one with --units ${role}=UNIT`,
  });
}

function extraColumn(column: NamedColumn): NumberColumn {
  return {
    mapping: {
      role: 'extra',
      source: column.source,
      index: column.index,
      unit: column.unit?.symbol ?? column.unitText,
      unitFrom: column.unitFrom,
      keptUnit: column.unit?.symbol ?? column.unitText,
      signTurned: false,
    },
    unit: null,
    negate: false,
    required: false,
  };
}
