import { requireColumn } from './columnChoice.ts';
import { type ColumnMapping, columnMapping } from './columnMapping.ts';
import type { Dialect, TableHead } from './dialect.ts';
import { parseNumber } from './fields.ts';
import { dateColumn, dayColumn, formatOf } from './instantColumns.ts';
import { extraColumn, type NumberColumn, numberColumn } from './numberColumn.ts';
import type { NumberRole, PlanOptions, SegmentOptions } from './planOptions.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { candidatesFor, isNumeric, keyColumns, nameColumns, requiredRoles } from './proposeColumns.ts';
import { RefusedFile } from './refusedFile.ts';
import { findSplitCurrent } from './splitCurrent.ts';
import { findStateColumn } from './stateColumn.ts';
import type { JoinPlan } from './timeJoin.ts';
import { isInstant, type TimeFormat } from './timeText.ts';

/** Every column of a plan as preview and report list them. */
export function recordMapping({ keys, stateColumn, numbers }: RecordPlan): ColumnMapping[] {
  const state = stateColumn === null ? [] : [columnMapping('state', stateColumn, null, null, false)];
  return [...keys, ...state, ...numbers.map(({ mapping }) => mapping)];
}

/** Whether the times of a file are instants, so that its runs have a start. */
export function hasInstants({ timeFormat, dayAt }: RecordPlan): boolean {
  return isInstant(timeFormat) || dayAt >= 0;
}

/** All that the row parser needs to know about a file. */
export interface RecordPlan {
  readonly dialect: Dialect;
  readonly header: readonly string[];
  /** Header and units row, to recognise them where they are repeated within the data. */
  readonly headLines: TableHead['headLines'];
  readonly numbers: readonly NumberColumn[];
  /** Columns whose change begins another run, compared as text. */
  readonly keys: readonly ColumnMapping[];
  /** Place of the cycle column in `numbers`, or -1. Where it changes, time may begin afresh. */
  readonly cycleAt: number;
  readonly timeFormat: TimeFormat;
  /** Format of the column of instants by which segments follow each other, or of that of days beside clock times. */
  readonly dateFormat: TimeFormat;
  /** Place among the numbers of the day that a clock time belongs to; -1 where the file has none. */
  readonly dayAt: number;
  /** How segments whose time starts again are joined; null where a run has one time. */
  readonly join: JoinPlan | null;
  /** Places among the numbers of the current in and out, where the file keeps them apart; the first becomes their difference. */
  readonly split: { readonly chargeAt: number; readonly dischargeAt: number } | null;
  /** Headers of columns that are not kept: texts, and names without numbers. */
  readonly unused: readonly string[];
  /** The column of words that states charge, discharge or rest, where the current's sign is checked against it. */
  readonly stateColumn: Pick<NamedColumn, 'index' | 'source'> | null;
  readonly warnings: readonly string[];
}

/**
 * Decides which column is what: explicit choices first, then names and units.
 *
 * @throws RefusedFile `missing-column`, `ambiguous-column`, `unknown-column`, `unknown-unit`
 */
export function planRecord(head: TableHead, options: PlanOptions = {}): RecordPlan {
  const columns = nameColumns(head.header, head.units);
  const warnings: string[] = [];
  const split = options.columns?.current === undefined ? splitCurrent(columns, options) : null;
  const chosen = chooseRoles(head, columns, options, warnings, split?.charge ?? null);
  const segments = segmentsOf(chosen, options, warnings);
  const keys = [...chooseKeys(head, columns, options), ...segmentMarks(head, columns, segments)];
  const keyed = new Set(keys.map((key) => key.index));
  const numbers: NumberColumn[] = [];
  const timeFormat = formatOf(head, chosen.get('time')!, 'time', options);
  for (const role of ['time', 'voltage', 'current', 'temperature', 'step', 'cycle'] as const) {
    const column = chosen.get(role);
    if (column === undefined || keyed.has(column.index)) continue;
    // Clock times and instants state their unit by the way they are written.
    const remarks = role === 'time' && timeFormat !== 'number' ? [] : warnings;
    numbers.push(numberColumn(role, column, options, remarks, head));
  }
  const day = timeFormat === 'clock' ? dayColumn(head, columns, chosen.get('time')!, numbers, options) : null;
  const splitAt = split === null ? null : addDischarge(numbers, split.discharge, options, warnings, head);
  const taken = new Set([...keyed, ...numbers.map(({ mapping }) => mapping.index)]);
  const stateColumn = split === null ? stateColumnOf(head, columns, taken, options) : null;
  if (stateColumn !== null) taken.add(stateColumn.index);
  const unused = options.keepExtra === false ? [] : addExtras(head, columns, taken, numbers);
  if (unused.length > 0) warnings.push(`columns not used: ${unused.map((name) => `"${name}"`).join(', ')}`);
  const date = segments?.follow === 'date' ? dateColumn(head, columns, numbers, segments, options) : null;
  return {
    dialect: head.dialect,
    header: head.header,
    headLines: head.headLines,
    numbers,
    keys,
    cycleAt: segments === null ? numbers.findIndex((column) => column.mapping.role === 'cycle') : -1,
    timeFormat,
    dateFormat: date?.format ?? day?.format ?? 'number',
    dayAt: date === null ? (day?.place ?? -1) : -1,
    join: segments === null ? null : joinOf(head, numbers, segments, date?.place ?? -1),
    split: splitAt,
    stateColumn,
    unused,
    warnings,
  };
}

/** The file's other columns: those of numbers are kept, the others named. */
function addExtras(
  head: TableHead,
  columns: readonly NamedColumn[],
  taken: ReadonlySet<number>,
  numbers: NumberColumn[],
): string[] {
  return columns.flatMap((column) => {
    if (taken.has(column.index) || column.source === '') return [];
    if (!isNumeric(column.index, head.firstRows, (t) => parseNumber(t, head.dialect.decimal)))
      return [column.source];
    numbers.push(extraColumn(column));
    return [];
  });
}

/** Given by options; by itself only where the file has no time but that of its steps. */
function segmentsOf(
  chosen: ReadonlyMap<NumberRole, NamedColumn>,
  options: PlanOptions,
  warnings: string[],
): SegmentOptions | null {
  if (options.segments !== undefined) return options.segments;
  const time = chosen.get('time');
  if (time === undefined || options.columns?.time !== undefined || !/\bstep\b/.test(time.name)) return null;
  warnings.push(
    `time: "${time.source}" starts again with every step; each step was taken to begin where the one before ends`,
  );
  const step = chosen.get('step') ?? chosen.get('cycle');
  return { follow: 'gap', gapS: 0, ...(step === undefined ? {} : { column: step.source }) };
}

/** The column of texts whose change begins a segment; it begins no run. */
function segmentMarks(
  head: TableHead,
  columns: readonly NamedColumn[],
  segments: SegmentOptions | null,
): ColumnMapping[] {
  if (segments?.column === undefined) return [];
  const mark = columns[requireColumn(head.header, segments.column, head.dialect.headerLine)];
  return isNumeric(mark.index, head.firstRows, (text) => parseNumber(text, head.dialect.decimal))
    ? []
    : [columnMapping('segment', mark, null, null, false)];
}

/** The column of words that states charge and discharge: the one chosen, or found. A sign that was stated is not questioned. */
function stateColumnOf(
  head: TableHead,
  columns: readonly NamedColumn[],
  taken: ReadonlySet<number>,
  options: PlanOptions,
): Pick<NamedColumn, 'index' | 'source'> | null {
  const given = options.columns?.state;
  if (typeof given === 'string') return columns[requireColumn(head.header, given, head.dialect.headerLine)];
  if (given === null || options.currentSign !== undefined) return null;
  return findStateColumn(
    columns.filter(({ index }) => !taken.has(index)),
    head.firstRows,
  );
}

function joinOf(
  head: TableHead,
  numbers: readonly NumberColumn[],
  { follow, gapS = 0, column }: SegmentOptions,
  dateAt: number,
): JoinPlan {
  const index = column === undefined ? -1 : requireColumn(head.header, column, head.dialect.headerLine);
  const markAt = numbers.findIndex(({ mapping }) => mapping.index === index);
  return { follow, gapS, markAt: index < 0 ? -1 : markAt, dateAt };
}

function splitCurrent(columns: readonly NamedColumn[], options: PlanOptions) {
  const given = (role: string): NamedColumn | null => {
    const name = options.columns?.[role];
    return typeof name !== 'string' ? null : (columns.find(({ source }) => source === name) ?? null);
  };
  const [charge, discharge] = [given('charge-current'), given('discharge-current')];
  if (charge !== null && discharge !== null) return { charge, discharge };
  const plain = candidatesFor('current', columns)[0];
  const found = findSplitCurrent(columns);
  // A signed current beside them says it all.
  return found === null || (plain !== undefined && plain.score >= 60) ? null : found;
}

/** The current out, whose size is taken off that of the current in. */
function addDischarge(
  numbers: NumberColumn[],
  column: NamedColumn,
  options: PlanOptions,
  warnings: string[],
  head: TableHead,
): { chargeAt: number; dischargeAt: number } {
  const chargeAt = numbers.findIndex(({ mapping }) => mapping.role === 'current');
  numbers[chargeAt] = { ...numbers[chargeAt], required: false };
  const taken = numberColumn('current', column, options, warnings, head);
  numbers.push({
    ...taken,
    mapping: { ...taken.mapping, role: 'extra', signTurned: false },
    negate: false,
    required: false,
  });
  warnings.push(`current: "${numbers[chargeAt].mapping.source}" less "${column.source}", each by its size`);
  return { chargeAt, dischargeAt: numbers.length - 1 };
}

function chooseRoles(
  head: TableHead,
  columns: readonly NamedColumn[],
  options: PlanOptions,
  warnings: string[],
  chargeCurrent: NamedColumn | null,
): Map<NumberRole, NamedColumn> {
  const chosen = new Map<NumberRole, NamedColumn>();
  for (const role of ['time', 'voltage', 'current', 'temperature', 'step', 'cycle'] as const) {
    const given = options.columns?.[role];
    if (given === null) continue;
    if (role === 'current' && chargeCurrent !== null) {
      chosen.set(role, chargeCurrent);
      continue;
    }
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
