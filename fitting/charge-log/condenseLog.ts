import type { ChargeLog } from './chargeLog.ts';

/** A jump of the current between two rows; its moment within the interval is not known. */
export interface CurrentEdge {
  /** Row after the jump. */
  readonly row: number;
  readonly intervalS: number;
  readonly jumpA: number;
}

/** A log made short: means of neighbouring rows where the current hardly changes, single rows behind its jumps. */
export interface CondensedLog {
  readonly timeS: Float64Array;
  readonly currentA: Float64Array;
  /** ∫ current from the first row, A s, by trapezoids over all rows of the log, averaged like the voltages. */
  readonly chargeAs: Float64Array;
  readonly voltageV: readonly Float64Array[];
  readonly temperatureC: readonly (Float64Array | null)[];
  /** Rows of the log that each row is the mean of. */
  readonly rows: Float64Array;
  readonly edges: readonly CurrentEdge[];
  /** Rows whose voltage is compared: not those beside a jump. */
  readonly settled: Int32Array;
}

/** A change between two rows above this share of the largest current is a jump. */
const JUMP_SHARE = 0.05;
/** Rows stay single for this time behind a jump. */
const SINGLE_S = 60;
/** Means of the rest: about this many. */
const MEANS = 500;

/**
 * Shortens a log without loss for a fit: the mean of neighbouring rows carries what they carry together, because voltage and current are
 * nearly straight within one mean. Jumps of the current, where that does not hold, keep their rows.
 */
export function condenseLog(given: ChargeLog, firstS: number): CondensedLog {
  const log = withBeginning(given);
  const { timeS, currentA } = log;
  const n = timeS.length;
  const largest = currentA.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const jumpAt = (row: number): boolean =>
    row > 0 && row < n && Math.abs(currentA[row] - currentA[row - 1]) > JUMP_SHARE * largest;
  const chargeAs = new Float64Array(n);
  for (let k = 1; k < n; k++)
    chargeAs[k] = chargeAs[k - 1] + ((timeS[k] - timeS[k - 1]) * (currentA[k] + currentA[k - 1])) / 2;
  const perMean = Math.max(1, Math.ceil(n / MEANS));
  const starts: number[] = [];
  for (let k = 0, lastJumpS = Number.NEGATIVE_INFINITY, filled = perMean; k < n; k++) {
    if (jumpAt(k)) lastJumpS = timeS[k];
    const single = timeS[k] - lastJumpS <= SINGLE_S || jumpAt(k + 1);
    if (single || filled >= perMean) {
      starts.push(k);
      filled = 0;
    }
    filled = single ? perMean : filled + 1;
  }
  const mean = (values: Float64Array): Float64Array =>
    Float64Array.from(starts, (start, i) => meanOf(values, start, starts[i + 1] ?? n));
  const edges: CurrentEdge[] = [];
  const settled: number[] = [];
  starts.forEach((start, i) => {
    if (jumpAt(start))
      edges.push({
        row: i,
        intervalS: timeS[start] - timeS[start - 1],
        jumpA: currentA[start] - currentA[start - 1],
      });
    const beside = jumpAt(start) || jumpAt(start - 1) || jumpAt(starts[i + 1] ?? n);
    if (!beside && timeS[start] >= timeS[0] + firstS) settled.push(i);
  });
  return {
    timeS: mean(timeS),
    currentA: mean(currentA),
    chargeAs: mean(chargeAs),
    voltageV: log.cells.map((cell) => mean(cell.voltageV)),
    temperatureC: log.cells.map((cell) => (cell.temperatureC === null ? null : mean(cell.temperatureC))),
    rows: Float64Array.from(starts, (start, i) => (starts[i + 1] ?? n) - start),
    edges,
    settled: Int32Array.from(settled),
  };
}

function meanOf(values: Float64Array, start: number, end: number): number {
  let sum = 0;
  for (let k = start; k < end; k++) sum += values[k];
  return sum / (end - start);
}

/** A log that begins under current gets a row without current one interval earlier: the charge began somewhere in between. */
function withBeginning(log: ChargeLog): ChargeLog {
  const { timeS, currentA } = log;
  const largest = currentA.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  if (Math.abs(currentA[0]) <= JUMP_SHARE * largest) return log;
  const before = (values: Float64Array, first = values[0]): Float64Array => {
    const longer = new Float64Array(values.length + 1);
    longer[0] = first;
    longer.set(values, 1);
    return longer;
  };
  return {
    ...log,
    timeS: before(timeS, timeS[0] - (timeS[1] - timeS[0])),
    currentA: before(currentA, 0),
    cells: log.cells.map(({ voltageV, temperatureC }) => ({
      voltageV: before(voltageV),
      temperatureC: temperatureC === null ? null : before(temperatureC),
    })),
  };
}
