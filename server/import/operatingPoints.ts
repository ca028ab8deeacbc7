import { MOST_OPERATING_POINTS, type OperatingPoint } from '../contract/chargeSupply.ts';
import { type ChargeLogColumn, type ChargeLogRole, roleOf, taken, withNumber } from './chargeLogColumns.ts';
import { columnValues } from './chargeLogValues.ts';
import { type ColumnChoice, requireColumn } from './columnChoice.ts';
import { parseNumber } from './fields.ts';
import { type NamedColumn, nameColumns } from './proposeColumns.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';

/** Columns of a table of operating points, by the names that a stack log has for them. */
const ROLES = [
  'stack-voltage',
  'stack-current',
  'bus-voltage',
  'bus-current',
  'converter-temperature',
] as const satisfies readonly ChargeLogRole[];
type PointRole = (typeof ROLES)[number] | 'efficiency';
const EFFICIENCY = /^(efficiency|eta|η|wirkungsgrad)$/;
const TEMPERATURE = /^(temperature|temp|t|case temperature|gehäuse ?temperature)$/;

/** Operating points as they were read. */
export interface ReadOperatingPoints {
  readonly points: readonly OperatingPoint[];
  readonly columns: readonly { readonly role: PointRole; readonly source: string; readonly unit: string }[];
  /** Header names that are not used. */
  readonly unused: readonly string[];
}

/**
 * Reads a table of operating points of a converter: a row for each, with output voltage and current, and input voltage and current or the
 * efficiency; a temperature where there is one. Columns are found by the words of a stack log, English and German, or are chosen by its
 * roles (`stack-voltage=NAME` for the output, `bus-voltage=NAME` for the input).
 *
 * @throws RefusedFile naming row, column and value
 */
export function readOperatingPoints(table: TableFile, chosen: ColumnChoice = {}): ReadOperatingPoints {
  const named = nameColumns(table.header, table.units).map(withNumber);
  const columns = new Map<(typeof ROLES)[number], ChargeLogColumn>();
  let efficiency: NamedColumn | null = null;
  for (const column of named) {
    const role = pointRole(table, column, chosen);
    if (role === null) continue;
    if (role === 'efficiency') efficiency ??= column;
    else if (columns.has(role))
      throw refused(table, 'ambiguous-column', role, `Several columns could be ${role}`);
    else columns.set(role, taken(table, role, column, undefined));
  }
  const values = new Map([...columns].map(([role, column]) => [role, columnValues(table, column).values]));
  const output = [need(table, values, 'stack-voltage'), need(table, values, 'stack-current')];
  const byInputs = values.has('bus-voltage') || values.has('bus-current');
  const shares = byInputs || efficiency === null ? null : efficiencies(table, efficiency);
  const input =
    shares === null ? [need(table, values, 'bus-voltage'), need(table, values, 'bus-current')] : [];
  if (table.rows.length < 2 || table.rows.length > MOST_OPERATING_POINTS)
    throw new RefusedFile({
      code: 'too-few-rows',
      reason: `The table has ${table.rows.length} operating points`,
      expected: `2 to ${MOST_OPERATING_POINTS} rows, one for each operating point`,
    });
  const temperature = values.get('converter-temperature');
  const points = table.rows.map((_, row): OperatingPoint => {
    const out = {
      outputVoltageV: positive(table, columns, 'stack-voltage', output[0][row], row),
      outputCurrentA: positive(table, columns, 'stack-current', output[1][row], row),
      ...(temperature === undefined ? {} : { temperatureC: temperature[row] }),
    };
    if (shares !== null) return { ...out, efficiency: shares[row] };
    return {
      ...out,
      inputVoltageV: positive(table, columns, 'bus-voltage', input[0][row], row),
      inputCurrentA: positive(table, columns, 'bus-current', input[1][row], row),
    };
  });
  const used = [
    ...[...columns].map(([role, { source, unit }]) => ({ role, source, unit: unit.symbol })),
    ...(shares === null || efficiency === null
      ? []
      : [{ role: 'efficiency' as const, source: efficiency.source, unit: efficiency.unit?.symbol ?? '1' }]),
  ];
  const sources = new Set(used.map(({ source }) => source));
  return {
    points,
    columns: used,
    unused: table.header.filter((name) => name !== '' && !sources.has(name)),
  };
}

function pointRole(table: TableFile, column: NamedColumn, chosen: ColumnChoice): PointRole | null {
  for (const role of ROLES) {
    const name = chosen[role];
    if (typeof name !== 'string') continue;
    if (requireColumn(table.header, name, table.dialect.headerLine) === column.index) return role;
  }
  const quantity = column.unit?.quantity ?? null;
  const found: PointRole | null =
    EFFICIENCY.test(column.name) && (quantity === null || quantity === 'fraction')
      ? 'efficiency'
      : TEMPERATURE.test(column.name) && (quantity === null || quantity === 'temperature')
        ? 'converter-temperature'
        : (ROLES.find((role) => role === roleOf(column)) ?? null);
  return found === null || chosen[found] !== undefined ? null : found;
}

function need(table: TableFile, values: ReadonlyMap<PointRole, Float64Array>, role: PointRole): Float64Array {
  const found = values.get(role);
  if (found !== undefined) return found;
  throw refused(table, 'missing-column', role, `No column is recognised as ${role}`);
}

function refused(
  table: TableFile,
  code: 'missing-column' | 'ambiguous-column',
  role: PointRole,
  reason: string,
): RefusedFile {
  const names = table.header.map((name) => `"${name}"`).join(', ');
  return new RefusedFile({
    code,
    row: table.dialect.headerLine,
    column: role,
    reason,
    expected: `One column each for output voltage and current, and for input voltage and current or the efficiency; the columns are ${names}; assign one with --columns ${role}=NAME`,
  });
}

function positive(
  table: TableFile,
  columns: ReadonlyMap<PointRole, ChargeLogColumn>,
  role: (typeof ROLES)[number],
  value: number,
  row: number,
): number {
  if (value > 0) return value;
  const column = columns.get(role);
  throw new RefusedFile({
    code: role.endsWith('voltage') ? 'impossible-voltage' : 'impossible-current',
    row: table.lines[row],
    column: column?.source ?? role,
    value: column === undefined ? null : table.rows[row][column.index],
    reason: 'An operating point has voltages and currents above 0',
    expected: 'A value above 0; where the file signs a current the other way, turn its sign round',
  });
}

/** Efficiencies as fractions; a column without a unit holds percents where a value is above 1. */
function efficiencies(table: TableFile, { index, source, unit }: NamedColumn): number[] {
  const read = table.rows.map((row, r) => {
    const value = parseNumber(row[index], table.dialect.decimal);
    if (value !== null) return value;
    throw notAnEfficiency(table, r, source, row[index]);
  });
  const percent = unit?.symbol === '%' || (unit === null && read.some((value) => value > 1));
  return read.map((value, r) => {
    const share = percent ? value / 100 : value;
    if (share > 0 && share <= 1) return share;
    throw notAnEfficiency(table, r, source, table.rows[r][index]);
  });
}

function notAnEfficiency(table: TableFile, row: number, column: string, value: string): RefusedFile {
  return new RefusedFile({
    code: 'impossible-efficiency',
    row: table.lines[row],
    column,
    value,
    reason: 'Not an efficiency',
    expected: 'Above 0 and at most 1, or above 0 and at most 100 %',
  });
}
