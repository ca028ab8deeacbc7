/** One cell of a measured charge: terminal voltage and, where logged, surface temperature, one value a row. */
export interface LoggedCell {
  readonly voltageV: Float64Array;
  readonly temperatureC: Float64Array | null;
}

/** The input side: voltage where it was sensed and current drawn. */
export interface LoggedBus {
  readonly voltageV: Float64Array;
  readonly currentA: Float64Array;
}

/** A charge of a stack as it was logged: one time axis, current positive on charge, columns of equal length. */
export interface ChargeLog {
  /** Seconds, ascending. */
  readonly timeS: Float64Array;
  /** Current through the cells, A. */
  readonly currentA: Float64Array;
  readonly cells: readonly LoggedCell[];
  /** Voltage across the whole stack with its connections, V; null where not logged. */
  readonly stackVoltageV: Float64Array | null;
  /** At the converter's input. */
  readonly bus: LoggedBus | null;
  /** At the source's output, before the cable; null where not logged. */
  readonly sourceVoltageV: Float64Array | null;
  /** Temperature of the surroundings, °C. */
  readonly ambientTemperatureC: number;
}

/** Limits of the instrument's systematic errors as standard uncertainties. */
export interface InstrumentErrors {
  /** Constant error of a cell voltage channel, V. */
  readonly voltageOffsetV: number;
  /** Constant error of the current channel, A. */
  readonly currentOffsetA: number;
  /** Gain error of the current channel, relative: capacities and resistances scale with it. */
  readonly currentGain: number;
}

/** Where a log cannot be used, as a code with the place. */
export interface LogIssue {
  readonly code:
    | 'too-few-rows'
    | 'length'
    | 'not-finite'
    | 'time-not-ascending'
    | 'no-charge'
    | 'gap-under-load';
  readonly column: string;
  readonly row: number | null;
  readonly value: number;
}

const LEAST_ROWS = 30;
/** A current above this share of the largest is a load. */
const LOAD_SHARE = 0.02;
/** Share of the charge moved in all that a gap may leave open: what the current channel's own gain leaves of it (0.1 %), twice. */
const OPEN_SHARE = 0.002;

/**
 * First thing that makes a log unfit for comparison and fit, or null.
 *
 * A gap under load is an interval of more than 20 typical intervals and 60 s with current on both sides, or on one of them where that
 * leaves more than 0.2 % of the whole charge open: the charge moved in it is not known.
 */
export function findLogIssue(log: ChargeLog): LogIssue | null {
  const { timeS, currentA } = log;
  const n = timeS.length;
  if (n < LEAST_ROWS) return { code: 'too-few-rows', column: 'timeS', row: null, value: n };
  for (const [column, values] of columnsOf(log)) {
    if (values.length !== n) return { code: 'length', column, row: null, value: values.length };
    const bad = values.findIndex((value) => !Number.isFinite(value));
    if (bad >= 0) return { code: 'not-finite', column, row: bad, value: values[bad] };
  }
  for (let row = 1; row < n; row++)
    if (!(timeS[row] > timeS[row - 1]))
      return { code: 'time-not-ascending', column: 'timeS', row, value: timeS[row] };
  const largest = currentA.reduce((most, value) => Math.max(most, value), 0);
  if (!(largest > 0)) return { code: 'no-charge', column: 'currentA', row: null, value: largest };
  const gap = gapUnderLoad(log, largest);
  return gap === null
    ? null
    : { code: 'gap-under-load', column: 'timeS', row: gap, value: timeS[gap] - timeS[gap - 1] };
}

/** Row after the first gap in which the charge moved is not known; null without one. */
function gapUnderLoad({ timeS, currentA }: ChargeLog, largest: number): number | null {
  const n = timeS.length;
  const intervals = Float64Array.from({ length: n - 1 }, (_, k) => timeS[k + 1] - timeS[k]);
  const chargeAs = intervals.reduce(
    (sum, interval, k) => sum + (interval * Math.abs(currentA[k] + currentA[k + 1])) / 2,
    0,
  );
  const longest = Math.max(60, 20 * intervals.slice().sort()[(n - 1) >> 1]);
  for (let row = 1; row < n; row++) {
    const interval = intervals[row - 1];
    if (interval <= longest) continue;
    const loaded = Math.min(Math.abs(currentA[row]), Math.abs(currentA[row - 1])) > LOAD_SHARE * largest;
    const openAs = (Math.abs(currentA[row] - currentA[row - 1]) * interval) / 2;
    if (loaded || openAs > OPEN_SHARE * chargeAs) return row;
  }
  return null;
}

function columnsOf(log: ChargeLog): [string, Float64Array][] {
  const columns: [string, Float64Array][] = [
    ['timeS', log.timeS],
    ['currentA', log.currentA],
  ];
  log.cells.forEach((cell, k) => {
    columns.push([`cells[${k}].voltageV`, cell.voltageV]);
    if (cell.temperatureC !== null) columns.push([`cells[${k}].temperatureC`, cell.temperatureC]);
  });
  if (log.stackVoltageV !== null) columns.push(['stackVoltageV', log.stackVoltageV]);
  if (log.sourceVoltageV !== null) columns.push(['sourceVoltageV', log.sourceVoltageV]);
  if (log.bus !== null) {
    columns.push(['bus.voltageV', log.bus.voltageV]);
    columns.push(['bus.currentA', log.bus.currentA]);
  }
  return columns;
}
