import type { ChargeLog } from '../../../fitting/charge-log/index.ts';

/** A stretch of constant current in a log. */
export interface LogStage {
  readonly currentA: number;
  readonly durationS: number;
}

/** What a log says of its own charge. */
export interface LogConditions {
  /** Where the charging current begins and ends: rows and the moment of the beginning. */
  readonly firstRow: number;
  readonly lastRow: number;
  readonly stages: readonly LogStage[];
  /** Where the current tapers at a limit: of the highest cell, or of the stack where only the sum was held. */
  readonly taper: {
    readonly row: number;
    readonly limitV: number;
    readonly held: 'cell' | 'stack';
    /** The highest cell. */
    readonly cell: number;
  } | null;
  readonly endCurrentA: number;
  /** Whether the log begins without current, so that its first voltages are open-circuit voltages. */
  readonly beginsAtRest: boolean;
  /** Of the rest that the log begins with, else of its first row. */
  readonly startVoltagesV: readonly number[];
  /** What the current channel reads in the rest that the log begins with, A; 0 without one. */
  readonly offsetA: number;
  /** Seconds without charging current between the beginning of the charge and each row: the computed charge has no pauses. */
  readonly pausedS: Float64Array;
  /** Moved between the log's first row and the beginning of the charge, Ah: a discharge on the way counts below 0. */
  readonly movedBeforeAh: number;
}

/** A change of the current above this share of the largest begins another stage. */
const STAGE_SHARE = 0.05;
/** A current that has fallen below this share of its stage's has tapered. */
const TAPERED = 0.9;
/** A taper may stay within a rise of this share of the largest current for this many looks back of half a percent of the charge. */
const RISE_SHARE = 0.01;
const FLAT_SPANS = 40;
/** A current below this share of the largest is none. */
const REST_SHARE = 0.01;
/** Rows at the beginning whose mean is the start voltage. */
const START_ROWS = 20;

/** Reads stages, taper and limits out of a log. The log has been checked (see `findLogIssue`). */
export function logConditions(log: ChargeLog): LogConditions {
  const { currentA, cells } = log;
  const largest = currentA.reduce((most, value) => Math.max(most, value), 0);
  const charging = (row: number): boolean => currentA[row] > REST_SHARE * largest;
  let firstRow = 0;
  while (!charging(firstRow)) firstRow += 1;
  let lastRow = currentA.length - 1;
  while (!charging(lastRow)) lastRow -= 1;
  const taperRow = taperStart(log, firstRow, lastRow);
  const end = taperRow ?? lastRow + 1;
  const restRows = currentA.findIndex((current) => Math.abs(current) > REST_SHARE * largest);
  const lead = Math.min(restRows, START_ROWS);
  // What the channel reads without current is its own error; the end current is small enough to feel it.
  const offsetA = restRows < 5 ? 0 : meanOf(currentA, 0, restRows);
  return {
    firstRow,
    lastRow,
    stages: stagesOf(log, firstRow, end, largest).map((stage) => ({
      ...stage,
      currentA: stage.currentA - offsetA,
    })),
    taper: taperRow === null ? null : { row: taperRow, ...heldVoltage(log, taperRow, lastRow) },
    endCurrentA: meanOf(currentA, Math.max(firstRow, lastRow - 4), lastRow + 1) - offsetA,
    beginsAtRest: restRows > 0,
    startVoltagesV: cells.map(({ voltageV }) =>
      restRows === 0 ? voltageV[0] : meanOf(voltageV, restRows - lead, restRows),
    ),
    offsetA,
    pausedS: pausedUntil(log, firstRow, lastRow, charging),
    // The rest itself moves nothing: what the channel reads in it is its error.
    movedBeforeAh: restRows === firstRow ? 0 : movedAh(log, Math.max(0, restRows - 1), firstRow, offsetA),
  };
}

/** Time without charging current up to each row of a charge; of an interval in which the current is switched, half. */
function pausedUntil(
  { timeS }: ChargeLog,
  firstRow: number,
  lastRow: number,
  charging: (row: number) => boolean,
): Float64Array {
  const paused = new Float64Array(timeS.length);
  for (let row = firstRow + 1; row < timeS.length; row++) {
    const off = row > lastRow ? 0 : (charging(row) ? 0 : 0.5) + (charging(row - 1) ? 0 : 0.5);
    paused[row] = paused[row - 1] + off * (timeS[row] - timeS[row - 1]);
  }
  return paused;
}

/** First row of the falling current at the end of the charge; null where the current stays up. */
function taperStart({ currentA }: ChargeLog, firstRow: number, lastRow: number): number | null {
  const end = meanOf(currentA, Math.max(firstRow, lastRow - 4), lastRow + 1);
  let row = lastRow;
  // Walk back up the slope: the taper begins where the current, looking back, no longer rises.
  let highest = end;
  const span = Math.max(3, Math.round((lastRow - firstRow) * 0.005));
  const largest = currentA.reduce((most, value) => Math.max(most, value), 0);
  // A small current rises by less than its steps and its regulator's ripple: the walk goes on where it rises further back.
  for (let back = row - span; back - span > firstRow && row - back <= FLAT_SPANS * span; back -= span) {
    if (jumpsBetween(currentA, back - span, row, STAGE_SHARE * largest)) break;
    const earlier = meanOf(currentA, back - span, back);
    if (earlier <= highest + RISE_SHARE * largest) continue;
    highest = earlier;
    row = back - span;
    back = row + span;
  }
  while (row - span > firstRow) {
    const earlier = meanOf(currentA, row - span, row);
    if (earlier <= highest * 1.0005) break;
    highest = earlier;
    row -= span;
  }
  return end < TAPERED * highest ? row : null;
}

function jumpsBetween(currentA: Float64Array, from: number, to: number, limitA: number): boolean {
  for (let row = from + 1; row < to; row++)
    if (Math.abs(currentA[row] - currentA[row - 1]) > limitA) return true;
  return false;
}

function stagesOf({ timeS, currentA }: ChargeLog, from: number, to: number, largest: number): LogStage[] {
  const stages: LogStage[] = [];
  let start = from;
  for (let row = from + 1; row <= to; row++) {
    const ends = row === to || Math.abs(currentA[row] - currentA[row - 1]) > STAGE_SHARE * largest;
    if (!ends) continue;
    const last = Math.min(row, timeS.length - 1);
    const middle = [...currentA.subarray(start, row)].sort((a, b) => a - b)[(row - start) >> 1];
    // One or two rows are the jump itself, sampled on its way.
    if (middle > 0 && (row - start > 2 || stages.length === 0))
      stages.push({ currentA: middle, durationS: timeS[last] - timeS[start] });
    start = row;
  }
  return stages;
}

/** The voltage held in the taper: of the cell that moves least, or of the sum where that moves less than any cell. */
function heldVoltage(
  { cells, stackVoltageV }: ChargeLog,
  from: number,
  to: number,
): { limitV: number; held: 'cell' | 'stack'; cell: number } {
  const rows = to + 1 - from;
  const sum = Float64Array.from(
    { length: rows },
    (_, i) => stackVoltageV?.[from + i] ?? cells.reduce((total, cell) => total + cell.voltageV[from + i], 0),
  );
  const tapers = cells.map(({ voltageV }) => voltageV.subarray(from, to + 1));
  const highest = tapers.reduce((best, values) => (mean(values) > mean(best) ? values : best));
  const stackHeld = cells.length > 1 && tapers.every((values) => spread(values) > 2 * spread(sum));
  const cell = tapers.indexOf(highest);
  return stackHeld
    ? { limitV: mean(sum), held: 'stack', cell }
    : { limitV: mean(highest), held: 'cell', cell };
}

/** Charge moved from one row to another, Ah, by trapezoids. */
function movedAh({ timeS, currentA }: ChargeLog, from: number, to: number, offsetA: number): number {
  let moved = 0;
  for (let row = from + 1; row <= to; row++)
    moved += ((timeS[row] - timeS[row - 1]) * (currentA[row] + currentA[row - 1] - 2 * offsetA)) / 7200;
  return moved;
}

function meanOf(values: Float64Array, from: number, to: number): number {
  return mean(values.subarray(from, to));
}

function mean(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function spread(values: Float64Array): number {
  const centre = mean(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - centre) ** 2, 0) / values.length);
}
