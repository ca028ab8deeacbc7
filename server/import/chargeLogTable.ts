import type { ChargeLog } from '../../fitting/charge-log/chargeLog.ts';
import { type ChargeLogColumn, type ChargeLogRole, planChargeLog } from './chargeLogColumns.ts';
import type { ColumnChoice } from './columnChoice.ts';
import { isMissingText, parseNumber } from './fields.ts';
import { defaultLimits } from './limits.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { parseTimeText, timeFormatOf } from './timeText.ts';

export interface ChargeLogOptions {
  readonly columns?: ColumnChoice;
  /** How the file signs the stack current. Default: positive is charge. */
  readonly currentSign?: 'charge-positive' | 'discharge-positive';
}

/** A log as it was read, in the units we keep. */
export interface ReadChargeLog {
  readonly log: ChargeLog;
  readonly columns: readonly ChargeLogColumn[];
  readonly unused: readonly string[];
  readonly warnings: readonly string[];
  /** Line of each row in the file. */
  readonly lines: readonly number[];
}

/** Surroundings where the log has no such column, °C. */
const USUAL_AMBIENT_C = 25;
/** Voltages of a stack may be higher than those of one cell. */
const STACK_VOLTAGE_MAX_V = 100;
/** The largest difference of two cells of a stack at which their columns can be recognised as swapped, V. */
const SWAP_LEAST_V = 0.005;

/**
 * Reads the log of a stack on the bench: one time axis, stack current, the voltage of every cell and whatever else was logged.
 *
 * @throws RefusedFile with row, column and value: a missing or impossible value, a clock that does not go forward, a current that runs
 * against the voltage, cell voltages that do not add up to the stack's, cell columns that change places.
 */
export function readChargeLog(table: TableFile, options: ChargeLogOptions = {}): ReadChargeLog {
  const plan = planChargeLog(table, options.columns);
  const values = new Map<ChargeLogRole, Float64Array>();
  for (const column of plan.columns.values()) values.set(column.role, columnValues(table, column));
  const of = (role: ChargeLogRole): Float64Array | null => values.get(role) ?? null;
  const timeS = values.get('time') as Float64Array;
  const sign = options.currentSign === 'discharge-positive' ? -1 : 1;
  const currentA = (values.get('stackCurrent') as Float64Array).map((value) =>
    value === 0 ? 0 : sign * value,
  );
  const ambient = of('ambientTemperature');
  const busVoltage = of('busVoltage');
  const busCurrent = of('busCurrent');
  const log: ChargeLog = {
    timeS,
    currentA,
    cells: Array.from({ length: plan.cells }, (_, k) => ({
      voltageV: values.get(`cellVoltage${k + 1}`) as Float64Array,
      temperatureC: of(`cellTemperature${k + 1}`),
    })),
    stackVoltageV: of('stackVoltage'),
    bus: busVoltage !== null && busCurrent !== null ? { voltageV: busVoltage, currentA: busCurrent } : null,
    sourceVoltageV: of('sourceVoltage'),
    ambientTemperatureC:
      ambient === null ? USUAL_AMBIENT_C : ambient.reduce((a, b) => a + b, 0) / ambient.length,
  };
  const places = new Places(table, plan.columns);
  checkTime(log, places);
  checkSign(log, places);
  checkCellPlaces(log, places);
  return {
    log,
    columns: [...plan.columns.values()],
    unused: plan.unused,
    lines: table.lines,
    warnings: [...warningsOf(plan.columns, ambient === null, log), ...checkTotals(log, places)],
  };
}

/** Names a row and column in a refusal. */
class Places {
  private readonly table: TableFile;
  private readonly columns: ReadonlyMap<ChargeLogRole, ChargeLogColumn>;

  constructor(table: TableFile, columns: ReadonlyMap<ChargeLogRole, ChargeLogColumn>) {
    this.table = table;
    this.columns = columns;
  }

  line(row: number): number {
    return this.table.lines[row];
  }

  at(row: number, role: ChargeLogRole): { row: number; column: string | null; value: string | null } {
    const column = this.columns.get(role);
    return {
      row: this.table.lines[row],
      column: column?.source ?? null,
      value: column === undefined ? null : this.table.rows[row][column.index],
    };
  }
}

function columnValues(table: TableFile, column: ChargeLogColumn): Float64Array {
  const { unit, index, role } = column;
  const { decimal } = table.dialect;
  const format = role === 'time' ? timeFormatOf(table.rows.map((row) => row[index])) : 'number';
  if (format === 'ambiguous')
    throw new RefusedFile({
      code: 'ambiguous-date',
      row: table.lines[0],
      column: column.source,
      value: table.rows[0][index],
      reason: 'The dates can be read with the day or the month first',
      expected: 'Dates with the year first, such as 2026-11-30 08:00:00',
    });
  return Float64Array.from(table.rows, (row, r) => {
    const text = row[index];
    const place = { row: table.lines[r], column: column.source, value: text };
    if (isMissingText(text))
      throw new RefusedFile({
        ...place,
        code: 'missing-value',
        reason: 'The value is missing',
        expected:
          'Every row of a stack log needs a value in each column used; leave the row or the column out',
      });
    const number = format === 'number' ? parseNumber(text, decimal) : parseTimeText(text, format);
    if (number === null)
      throw new RefusedFile({
        ...place,
        code: 'not-a-number',
        reason: 'Not a number',
        expected: 'A plain number',
      });
    const value = format === 'number' ? (number * unit.multiply) / unit.divide + unit.add : number;
    checkValue(role, value, place);
    return value;
  });
}

function checkValue(
  role: ChargeLogRole,
  value: number,
  place: { row: number; column: string; value: string },
): void {
  const { voltageMinV, currentMaxA, temperatureMinC, temperatureMaxC } = defaultLimits;
  if (!Number.isFinite(value))
    throw new RefusedFile({
      ...place,
      code: 'not-finite',
      reason: 'Too large to be kept',
      expected: 'A finite number',
    });
  if (/Current$/.test(role) && Math.abs(value) > currentMaxA)
    throw new RefusedFile({
      ...place,
      code: 'impossible-current',
      reason: 'A current that no bench carries',
      expected: `At most ${currentMaxA} A of either sign`,
    });
  const highest = /^cellVoltage/.test(role) ? 6 : STACK_VOLTAGE_MAX_V;
  if (/oltage\d*$/.test(role) && !(value >= voltageMinV && value <= highest))
    throw new RefusedFile({
      ...place,
      code: 'impossible-voltage',
      reason: /^cellVoltage/.test(role)
        ? 'Not the voltage of one lithium cell'
        : 'Not a voltage of a stack or its source',
      expected: `Between ${voltageMinV} and ${highest} V`,
    });
  if (/emperature\d*$/.test(role) && !(value >= temperatureMinC && value <= temperatureMaxC))
    throw new RefusedFile({
      ...place,
      code: 'impossible-temperature',
      reason: 'Not a temperature of a cell or its surroundings',
      expected: `Between ${temperatureMinC} and ${temperatureMaxC} °C`,
    });
}

function checkTime(log: ChargeLog, places: Places): void {
  const { timeS } = log;
  for (let row = 1; row < timeS.length; row++)
    if (!(timeS[row] > timeS[row - 1]))
      throw new RefusedFile({
        ...places.at(row, 'time'),
        code: 'time-backwards',
        reason: `The clock does not go forward: the row before has ${timeS[row - 1]} s`,
        expected: 'Time rises from row to row; split a log whose clock restarts into one file for each part',
      });
}

/** A charge raises the voltage of its cells: where it falls while "charging", the sign of the current is the other one. */
function checkSign(log: ChargeLog, places: Places): void {
  const { timeS, currentA, cells } = log;
  let [moved, against, first] = [0, 0, -1];
  for (let row = 1; row < timeS.length; row++) {
    const jump = currentA[row] - currentA[row - 1];
    const rise = cells.reduce((sum, cell) => sum + cell.voltageV[row] - cell.voltageV[row - 1], 0);
    moved += Math.abs(jump * rise);
    if (jump * rise < 0) {
      against += Math.abs(jump * rise);
      if (first < 0) first = row;
    }
  }
  let [charged, rose] = [0, 0];
  for (let row = 1; row < timeS.length; row++)
    charged += (timeS[row] - timeS[row - 1]) * (currentA[row] + currentA[row - 1]);
  for (const cell of cells) rose += cell.voltageV[timeS.length - 1] - cell.voltageV[0];
  const turned = charged < 0 && rose > 0;
  if (turned || (against > 0.9 * moved && charged * rose < 0))
    throw new RefusedFile({
      ...places.at(Math.max(first, 0), 'stackCurrent'),
      code: 'current-sign',
      reason: 'The cell voltages rise while the current discharges: its sign is turned round',
      expected: 'Current positive on charge, or --current-sign discharge-positive',
    });
}

/** Two cell columns that change places in mid-log: both jump to where the other was. */
function checkCellPlaces(log: ChargeLog, places: Places): void {
  const { cells, timeS, currentA } = log;
  const largest = currentA.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  for (let a = 0; a < cells.length; a++)
    for (let b = a + 1; b < cells.length; b++)
      for (let row = 1; row < timeS.length; row++) {
        if (Math.abs(currentA[row] - currentA[row - 1]) > 0.02 * largest) continue;
        const [va, vb] = [cells[a].voltageV, cells[b].voltageV];
        const apart = Math.abs(va[row - 1] - vb[row - 1]);
        if (apart < SWAP_LEAST_V) continue;
        const crossed = Math.abs(va[row] - vb[row - 1]) + Math.abs(vb[row] - va[row - 1]);
        const straight = Math.abs(va[row] - va[row - 1]) + Math.abs(vb[row] - vb[row - 1]);
        if (crossed < 0.3 * apart && straight > 1.5 * apart)
          throw new RefusedFile({
            ...places.at(row, `cellVoltage${a + 1}`),
            code: 'cells-swapped',
            reason: `The voltages of cells ${a + 1} and ${b + 1} change places at this row`,
            expected: 'Each column belongs to one cell throughout; correct the log',
          });
      }
}

/** Sums that do not agree are reported with their rows; what cannot be is refused. */
function checkTotals(log: ChargeLog, places: Places): string[] {
  const warnings: string[] = [];
  const { stackVoltageV, cells, currentA, bus, timeS } = log;
  const rows = timeS.length;
  const sum = (row: number): number => cells.reduce((total, cell) => total + cell.voltageV[row], 0);
  if (stackVoltageV !== null) {
    const off = rowsWhere(rows, (row) => {
      const apart = stackVoltageV[row] - sum(row);
      return Math.abs(apart) > 0.02 * stackVoltageV[row] + 0.1 * Math.abs(currentA[row]);
    });
    if (off.length > 0.5 * rows)
      throw new RefusedFile({
        ...places.at(off[0], 'stackVoltage'),
        code: 'totals-contradict',
        reason: `The cell voltages add up to ${sum(off[0]).toFixed(3)} V, and the stack voltage is ${stackVoltageV[off[0]].toFixed(3)} V`,
        expected: 'A voltage for every cell in series; assign the columns with --columns',
      });
    if (off.length > 0)
      warnings.push(
        `stack voltage: ${off.length} of ${rows} rows differ from the sum of the cells, first in line ${places.line(off[0])}`,
      );
  }
  if (bus !== null) {
    const gains = rowsWhere(rows, (row) => {
      const out = (stackVoltageV?.[row] ?? sum(row)) * currentA[row];
      return out > 1 && out > 1.02 * bus.voltageV[row] * bus.currentA[row];
    });
    if (gains.length > 0)
      warnings.push(
        `input power: ${gains.length} of ${rows} rows have more power into the stack than from the bus, first in line ${places.line(gains[0])}`,
      );
  }
  return warnings;
}

function rowsWhere(rows: number, holds: (row: number) => boolean): number[] {
  const found: number[] = [];
  for (let row = 0; row < rows; row++) if (holds(row)) found.push(row);
  return found;
}

function warningsOf(
  columns: ReadonlyMap<ChargeLogRole, ChargeLogColumn>,
  noAmbient: boolean,
  log: ChargeLog,
): string[] {
  const warnings: string[] = [];
  for (const { role, source, unit, unitFrom } of columns.values())
    if (unitFrom === 'assumed')
      warnings.push(`${role}: column "${source}" states no unit; ${unit.symbol} was taken`);
  if (noAmbient)
    warnings.push(`no temperature of the surroundings is logged; ${USUAL_AMBIENT_C} °C is taken`);
  const temperatures = log.cells.filter((cell) => cell.temperatureC !== null).length;
  if (temperatures < log.cells.length)
    warnings.push(
      'not every cell has a temperature; those without are taken at the temperature of the surroundings',
    );
  return warnings;
}
