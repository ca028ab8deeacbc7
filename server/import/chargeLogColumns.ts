import type { stackLogCellRoles, stackLogRoles } from '../contract/columnRoles.ts';
import type { ColumnChoice, UnitChoice } from './columnChoice.ts';
import { requireColumn } from './columnChoice.ts';
import type { TableHead } from './dialect.ts';
import { type NamedColumn, nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { parseUnit, type Quantity, type Unit, unitsOf } from './units.ts';

/** What a column of a stack log can be; `cell-voltage-1` and `cell-temperature-1` belong to the first cell of the stack. */
export type ChargeLogRole =
  | 'time'
  | (typeof stackLogRoles)[number]
  | `${(typeof stackLogCellRoles)[number]}-${number}`;

/** A column as it was taken. */
export interface ChargeLogColumn {
  readonly role: ChargeLogRole;
  readonly index: number;
  readonly source: string;
  readonly unit: Pick<Unit, 'symbol' | 'multiply' | 'divide' | 'add'>;
  /** `assumed`: the file states no unit. */
  readonly unitFrom: 'header' | 'units-row' | 'given' | 'assumed';
  /** The unit in which the values are kept. */
  readonly keptUnit: string;
}

export interface ChargeLogPlan {
  readonly columns: ReadonlyMap<ChargeLogRole, ChargeLogColumn>;
  /** Cells in series that the log has a voltage of, numbered from 1 without a gap. */
  readonly cells: number;
  /** Header names that are not used. */
  readonly unused: readonly string[];
}

/** Names by role as `plainName` leaves them: lower case, words separated by a blank, unit taken off, `spannung` already `voltage`. */
const names: readonly (readonly [ChargeLogRole, RegExp])[] = [
  ['time', /^(t|time|elapsed( time)?|test time|run time|timestamp|date( time)?|datetime|lauftime)$/],
  [
    'stack-current',
    /^(i|current|strom)$|^(stack|pack|battery|charge|charging|output|out) (current|i)$|^i ?(stack|pack|bat|battery|charge|chg|out|output)$|^(ladestrom|ausgangsstrom|batteriestrom|stapelstrom)$/,
  ],
  [
    'stack-voltage',
    /^(stack|pack|battery|output|out|total) (voltage|v|u)$|^[uv] ?(stack|pack|bat|battery|out|output|total)$|^(ausgangs|batterie|stapel|gesamt) ?voltage$/,
  ],
  [
    'bus-voltage',
    /^(bus|input|in|converter input) (voltage|v|u)$|^[uv] ?(bus|in|input)$|^(eingangs|bus) ?voltage$/,
  ],
  [
    'bus-current',
    /^(bus|input|in|converter input) (current|i)$|^i ?(bus|in|input)$|^(eingangsstrom|busstrom)$/,
  ],
  [
    'source-voltage',
    /^(source|supply|adapter) (voltage|v|u)$|^[uv] ?(source|supply|src)$|^quellen ?voltage$/,
  ],
  [
    'ambient-temperature',
    /^(ambient|room|chamber|surroundings)( (temperature|temp|t))?$|^t ?(amb|ambient|room)$|^(umgebungs|raum) ?temperature$/,
  ],
  [
    'converter-temperature',
    /^(converter|board)( (temperature|temp|t))?$|^t ?(conv|converter|board)$|^wandler ?temperature$/,
  ],
];

const voltageOfCell =
  /^(?:[uv]|voltage)? ?(?:cell|c)? ?([1-9a-h])(?: ?(?:voltage|[uv]))?$|^cell voltage ([1-9a-h])$/;
const temperatureOfCell =
  /^(?:t|temp|temperature) ?(?:cell|c)? ?([1-9a-h])$|^cell ?([1-9a-h]) (?:t|temp|temperature)$|^cell (?:temp|temperature) ([1-9a-h])$/;

const quantityOf = (role: ChargeLogRole): Quantity =>
  role === 'time'
    ? 'time'
    : /current$/.test(role)
      ? 'current'
      : /temperature/.test(role)
        ? 'temperature'
        : 'voltage';
const KEPT: Partial<Record<Quantity, string>> = { time: 's', voltage: 'V', current: 'A', temperature: '°C' };

/**
 * Decides which column of a stack log is what: explicit choices first (`cell-voltage-1=NAME`), then the trade's words in English and
 * German. Needed are time, the stack current and the voltage of every cell; all others may be missing.
 *
 * @throws RefusedFile `missing-column`, `ambiguous-column`, `unknown-column`, `unknown-unit`
 */
export function planChargeLog(
  table: Pick<TableFile, 'header' | 'units' | 'dialect'>,
  chosen: ColumnChoice = {},
  units: UnitChoice = {},
): ChargeLogPlan {
  const named = nameColumns(table.header, table.units).map(withNumber);
  const columns = new Map<ChargeLogRole, ChargeLogColumn>();
  const given = new Map<number, ChargeLogRole>();
  for (const [role, name] of Object.entries(chosen))
    if (typeof name === 'string')
      given.set(requireColumn(table.header, name, table.dialect.headerLine), role as ChargeLogRole);
  for (const column of named) {
    const role = given.get(column.index) ?? roleOf(column);
    if (role === null || (chosen as Record<string, string | null>)[role] === null) continue;
    const other = columns.get(role);
    if (other !== undefined && given.has(other.index) && !given.has(column.index)) continue;
    if (other !== undefined && given.has(column.index) === given.has(other.index))
      throw ambiguous(table, role, [other.source, column.source]);
    columns.set(role, taken(table, role, column, units[role]));
  }
  let cells = 0;
  while (columns.has(`cell-voltage-${cells + 1}`)) cells += 1;
  for (const role of ['time', 'stack-current', 'cell-voltage-1'] as const)
    if (!columns.has(role)) throw missing(table, role);
  const beyond = [...columns.keys()].find((role) => {
    const number = /^cell-(?:voltage|temperature)-(\d+)$/.exec(role);
    return number !== null && Number(number[1]) > cells;
  });
  if (beyond !== undefined) throw missing(table, `cell-voltage-${cells + 1}`);
  const used = new Set([...columns.values()].map(({ index }) => index));
  return {
    columns,
    cells,
    unused: table.header.filter((name, index) => name !== '' && !used.has(index)),
  };
}

/** "T cell 1" reads like a name with the unit 1; here the number is that of the cell. */
export function withNumber(column: NamedColumn): NamedColumn {
  if (column.unit?.symbol !== '1' || column.unitFrom === 'units-row') return column;
  return { ...column, name: `${column.name} 1`, unit: null, unitText: null, unitFrom: null };
}

/** What a column of a stack log is by its name and unit; null where neither says. */
export function roleOf(column: NamedColumn): ChargeLogRole | null {
  const quantity = column.unit?.quantity ?? null;
  const fits = (role: ChargeLogRole): boolean => quantity === null || quantity === quantityOf(role);
  for (const [role, pattern] of names) if (fits(role) && pattern.test(column.name)) return role;
  const temperature = temperatureOfCell.exec(column.name);
  if (temperature !== null && fits('cell-temperature-1'))
    return `cell-temperature-${cellNumber(temperature[1] ?? temperature[2] ?? temperature[3])}`;
  const voltage = voltageOfCell.exec(column.name);
  const said = /cell|volt|^[uv]/.test(column.name);
  if (voltage !== null && (quantity === 'voltage' || (quantity === null && said)))
    return `cell-voltage-${cellNumber(voltage[1] ?? voltage[2])}`;
  return null;
}

const cellNumber = (text: string): number =>
  /\d/.test(text) ? Number(text) : text.charCodeAt(0) - 'a'.charCodeAt(0) + 1;

/** A column in its role, with the unit that header, units row or caller state. @throws RefusedFile `unknown-unit` */
export function taken(
  table: Pick<TableFile, 'dialect'>,
  role: ChargeLogRole,
  column: NamedColumn,
  given: string | undefined,
): ChargeLogColumn {
  const quantity = quantityOf(role);
  const base = { role, index: column.index, source: column.source, keptUnit: KEPT[quantity] ?? '' };
  if (given !== undefined) {
    const unit = parseUnit(given);
    if (unit?.quantity === quantity) return { ...base, unit, unitFrom: 'given' };
    throw notAUnit(quantity, { row: null, column: column.source, value: given });
  }
  if (column.unit?.quantity === quantity)
    return { ...base, unit: column.unit, unitFrom: column.unitFrom ?? 'header' };
  if (column.unit !== null || (column.unitText !== null && /^[A-Za-zµΩ°%]{1,6}$/.test(column.unitText)))
    throw notAUnit(quantity, {
      row: table.dialect.unitsLine ?? table.dialect.headerLine,
      column: column.source,
      value: column.unitText,
    });
  const kept = parseUnit(KEPT[quantity] ?? '');
  if (kept === null) throw new RangeError(`no unit is kept for ${quantity}`);
  return { ...base, unit: kept, unitFrom: 'assumed' };
}

function notAUnit(
  quantity: Quantity,
  place: { row: number | null; column: string; value: string | null },
): RefusedFile {
  return new RefusedFile({
    ...place,
    code: 'unknown-unit',
    reason: `Not a unit of ${quantity}`,
    expected: `Units understood are ${unitsOf(quantity).join(', ')}`,
  });
}

/**
 * Whether a header is that of a stack log: time, a current, and the voltages of at least two cells, recognised or chosen. One cell's
 * record has one voltage, and is one of a stack log only where that is said with `cell-voltage-1`.
 */
export function isChargeLogHeader(head: Pick<TableHead, 'header' | 'units'>, chosen: ColumnChoice): boolean {
  if (Object.keys(chosen).some((role) => /^(cell-voltage-|stack-current)/.test(role))) return true;
  if (typeof chosen.voltage === 'string') return false;
  const roles = new Set(nameColumns(head.header, head.units).map((column) => roleOf(withNumber(column))));
  return (['time', 'stack-current', 'cell-voltage-1', 'cell-voltage-2'] as const).every((role) =>
    role === 'time' && typeof chosen.time === 'string' ? true : roles.has(role),
  );
}

function missing(table: Pick<TableFile, 'header' | 'dialect'>, role: ChargeLogRole): RefusedFile {
  return new RefusedFile({
    code: 'missing-column',
    row: table.dialect.headerLine,
    column: role,
    reason: `No column is recognised as ${role}`,
    expected: `A stack log needs time, stack current and the voltage of every cell; its columns are ${table.header
      .map((name) => `"${name}"`)
      .join(', ')}; assign one with --columns ${role}=NAME`,
  });
}

function ambiguous(
  table: Pick<TableFile, 'dialect'>,
  role: ChargeLogRole,
  sources: readonly string[],
): RefusedFile {
  return new RefusedFile({
    code: 'ambiguous-column',
    row: table.dialect.headerLine,
    column: sources[0],
    reason: `Several columns could be ${role}: ${sources.map((name) => `"${name}"`).join(', ')}`,
    expected: `Assign one: --columns ${role}=NAME`,
  });
}
