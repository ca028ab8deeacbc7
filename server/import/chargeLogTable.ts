import { type ChargeLog, findLogIssue, type LogIssue } from '../../fitting/charge-log/index.ts';
import { type ChargeLogColumn, type ChargeLogRole, planChargeLog } from './chargeLogColumns.ts';
import { type ChargeLogValues, columnValues } from './chargeLogValues.ts';
import type { ColumnChoice, UnitChoice } from './columnChoice.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { startInPreamble } from './startInPreamble.ts';
import type { DateOrder } from './timeText.ts';

export interface ChargeLogOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** How the file signs the stack current. Default: positive is charge. */
  readonly currentSign?: 'charge-positive' | 'discharge-positive';
  readonly dateOrder?: DateOrder;
  /** Temperature of the surroundings where the log has no column of it, °C. */
  readonly ambientTemperatureC?: number;
}

/** A log as it was read, in the units we keep. */
export interface ReadChargeLog {
  readonly log: ChargeLog;
  /** Every column that was taken, by role. */
  readonly values: ChargeLogValues;
  readonly columns: readonly ChargeLogColumn[];
  readonly unused: readonly string[];
  readonly warnings: readonly string[];
  /** Line of each row in the file. */
  readonly lines: readonly number[];
  /** When the first row was written, where the file says it. */
  readonly startedAt: string | null;
}

/** Surroundings where nothing says their temperature, °C. */
const USUAL_AMBIENT_C = 25;
/** The largest difference of two cells of a stack at which their columns can be recognised as swapped, V. */
const SWAP_LEAST_V = 0.005;

/**
 * Reads the log of a stack on the bench: one time axis, stack current, the voltage of every cell and whatever else was logged.
 *
 * @throws RefusedFile with row, column and value: a missing or impossible value, a clock that does not go forward, a current that runs
 * against the voltage, cell voltages that do not add up to the stack's, cell columns that change places, a gap under load, no charge.
 */
export function readChargeLog(table: TableFile, options: ChargeLogOptions = {}): ReadChargeLog {
  const plan = planChargeLog(table, options.columns, options.units);
  const values = new Map<ChargeLogRole, Float64Array>();
  let startedAt = startInPreamble(table.dialect.preamble);
  for (const column of plan.columns.values()) {
    const read = columnValues(table, column, options.dateOrder);
    if (read.startsAtS !== null) startedAt = new Date(read.startsAtS * 1000).toISOString();
    const turned = column.role === 'stack-current' && options.currentSign === 'discharge-positive';
    values.set(column.role, turned ? read.values.map((value) => (value === 0 ? 0 : -value)) : read.values);
  }
  const log = chargeLogOf(values, plan.cells, options.ambientTemperatureC ?? USUAL_AMBIENT_C);
  const places = new Places(table, plan.columns);
  checkTime(log, places);
  checkTurnedSign(log, places);
  checkSign(log, places);
  checkCellPlaces(log, places);
  refuseUnfit(log, places);
  const noAmbient = !values.has('ambient-temperature') && options.ambientTemperatureC === undefined;
  return {
    log,
    values,
    columns: [...plan.columns.values()],
    unused: plan.unused,
    lines: table.lines,
    startedAt,
    warnings: [...warningsOf(plan.columns, noAmbient, log), ...checkTotals(log, places)],
  };
}

/**
 * The columns of a log by role as the evaluation takes them.
 * @param ambientC temperature of the surroundings where the log has no column of it
 */
export function chargeLogOf(values: ChargeLogValues, cells: number, ambientC: number): ChargeLog {
  const of = (role: ChargeLogRole): Float64Array | null => values.get(role) ?? null;
  const need = (role: ChargeLogRole): Float64Array => {
    const found = of(role);
    if (found === null) throw new RangeError(`the log has no column for ${role}`);
    return found;
  };
  const ambient = of('ambient-temperature');
  const [busVoltage, busCurrent] = [of('bus-voltage'), of('bus-current')];
  return {
    timeS: need('time'),
    currentA: need('stack-current'),
    cells: Array.from({ length: cells }, (_, k) => ({
      voltageV: need(`cell-voltage-${k + 1}`),
      temperatureC: of(`cell-temperature-${k + 1}`),
    })),
    stackVoltageV: of('stack-voltage'),
    bus: busVoltage !== null && busCurrent !== null ? { voltageV: busVoltage, currentA: busCurrent } : null,
    sourceVoltageV: of('source-voltage'),
    ambientTemperatureC:
      ambient === null ? ambientC : ambient.reduce((sum, value) => sum + value, 0) / ambient.length,
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

const unfit: Partial<Record<LogIssue['code'], (value: number) => { reason: string; expected: string }>> = {
  'gap-under-load': (value) => ({
    reason: `Nothing was logged for ${Math.round(value)} s under current or while it was switched, so the charge that moved in it is not known`,
    expected:
      'A log without gaps, or a row without current before and after a pause; split it into one file before and one after the gap',
  }),
  'too-few-rows': (value) => ({
    reason: `The log has ${value} rows`,
    expected: 'At least 30 rows over a charge',
  }),
  'no-charge': () => ({
    reason: 'The current never charges the stack',
    expected: 'The log of a charge; where charge is negative in the file, --current-sign discharge-positive',
  }),
};

/** What makes a log unfit for every evaluation. @throws RefusedFile */
function refuseUnfit(log: ChargeLog, places: Places): void {
  const issue = findLogIssue(log);
  const words = issue === null ? undefined : unfit[issue.code];
  if (issue === null || words === undefined) return;
  throw new RefusedFile({
    ...(issue.row === null ? {} : places.at(issue.row, 'time')),
    code: issue.code as 'gap-under-load' | 'too-few-rows' | 'no-charge',
    ...words(issue.value),
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
      ...places.at(Math.max(first, 0), 'stack-current'),
      code: 'current-sign',
      reason: 'The cell voltages rise while the current discharges: its sign is turned round',
      expected: 'Current positive on charge, or --current-sign discharge-positive',
    });
}

/** A stretch of discharge is looked at from this time on, when what follows the step has mostly settled. */
const SETTLED_S = 30;
/** The least rise of every cell's voltage that is no noise, V. */
const LEAST_RISE_V = 0.005;

/**
 * A sign that turns in mid-log: no cell rises through a discharge whose current does not become smaller, to above where it was before it. A
 * cold cell that warms by its own loss rises too, but by less than the discharge has lowered it.
 */
function checkTurnedSign({ timeS, currentA, cells }: ChargeLog, places: Places): void {
  const largest = currentA.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const discharges = (row: number): boolean => currentA[row] < -0.05 * largest;
  // Before the first charge it is the sign of the whole log.
  const charged = currentA.findIndex((current) => current > 0.05 * largest);
  if (charged < 0) return;
  for (let first = charged; first < timeS.length; first++) {
    if (!discharges(first) || discharges(first - 1)) continue;
    let from = first;
    while (from < timeS.length - 1 && timeS[from] - timeS[first] < SETTLED_S) from += 1;
    let last = first;
    while (last + 1 < timeS.length && discharges(last + 1) && currentA[last + 1] < 0.9 * currentA[first])
      last += 1;
    const rises = ({ voltageV }: ChargeLog['cells'][number]): boolean =>
      voltageV[last] - Math.max(voltageV[from], voltageV[first - 1]) > LEAST_RISE_V;
    if (last > from && cells.every(rises))
      throw new RefusedFile({
        ...places.at(first, 'stack-current'),
        code: 'current-sign',
        reason: `Every cell voltage rises for ${Math.round(timeS[last] - timeS[first])} s while the current discharges: its sign turns round at this row`,
        expected: 'One sign throughout, positive on charge; correct the log',
      });
    first = last;
  }
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
            ...places.at(row, `cell-voltage-${a + 1}`),
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
        ...places.at(off[0], 'stack-voltage'),
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
