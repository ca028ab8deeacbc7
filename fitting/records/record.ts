/**
 * The sample series of a test as columns of equal length. Current is positive on charge.
 * Two rows with one time stamp are allowed: instruments write both sides of a step end.
 */
export interface RecordColumns {
  /** Seconds, any origin. */
  readonly timeS: Float64Array;
  /** Terminal voltage in V. */
  readonly voltageV: Float64Array;
  /** Current in A, positive on charge. */
  readonly currentA: Float64Array;
  /** Cell temperature in °C, where recorded. */
  readonly temperatureC?: Float64Array;
  /** The instrument's own step number, where recorded; any change of value begins another step. */
  readonly step?: Float64Array;
  /** The instrument's signed charge counter in Ah (rising on charge), where recorded; it bridges gaps. */
  readonly chargeAh?: Float64Array;
}

/** Rows `start` (included) to `end` (excluded). */
export interface RowRange {
  readonly start: number;
  readonly end: number;
}

/** What is wrong with a record, as a code with the place. */
export interface RecordIssue {
  readonly code: 'empty' | 'length' | 'not-finite' | 'time-backwards';
  readonly column: keyof RecordColumns;
  /** Row of the offending value; for `length` the column's own length. */
  readonly index: number;
  readonly value: number;
}

/**
 * Looks a record over before anything is computed from it.
 *
 * Time may not run backwards, with one exception: a drop to (about) the very first time is a tester that
 * began to count afresh, and opens another stretch. "About" is within a tenth of the time covered so far.
 *
 * @returns the first issue found, or null.
 */
export function findRecordIssue(record: RecordColumns): RecordIssue | null {
  const n = record.timeS.length;
  if (n === 0) return { code: 'empty', column: 'timeS', index: 0, value: 0 };
  for (const column of ['timeS', 'voltageV', 'currentA', 'temperatureC', 'step', 'chargeAh'] as const) {
    const values = record[column];
    if (values === undefined) continue;
    if (values.length !== n) return { code: 'length', column, index: values.length, value: values.length };
    for (let i = 0; i < n; i++) {
      if (!Number.isFinite(values[i])) return { code: 'not-finite', column, index: i, value: values[i] };
    }
  }
  const { timeS } = record;
  let latest = timeS[0];
  for (let i = 1; i < n; i++) {
    if (timeS[i] >= timeS[i - 1]) {
      latest = Math.max(latest, timeS[i]);
    } else if (timeS[i] - timeS[0] > 0.1 * (latest - timeS[0])) {
      return { code: 'time-backwards', column: 'timeS', index: i, value: timeS[i] };
    }
  }
  return null;
}

/** @throws RangeError naming column, row and value where the record is unfit (see {@link findRecordIssue}). */
export function requireSound(record: RecordColumns): void {
  const issue = findRecordIssue(record);
  if (issue !== null) throw new RangeError(describeIssue(issue, record.timeS.length));
}

/**
 * The record's stretches: runs of rows in which time never decreases. One, unless the tester's clock
 * restarted.
 *
 * @throws RangeError naming column, row and value where the record is unfit (see {@link findRecordIssue}).
 */
export function recordStretches(record: RecordColumns): RowRange[] {
  requireSound(record);
  const stretches: RowRange[] = [];
  let start = 0;
  for (let i = 1; i <= record.timeS.length; i++) {
    if (i === record.timeS.length || record.timeS[i] < record.timeS[i - 1]) {
      stretches.push({ start, end: i });
      start = i;
    }
  }
  return stretches;
}

function describeIssue(issue: RecordIssue, rows: number): string {
  switch (issue.code) {
    case 'empty':
      return 'A record needs at least one row';
    case 'length':
      return `${issue.column} has ${issue.value} values where timeS has ${rows}`;
    case 'not-finite':
      return `${issue.column}[${issue.index}] is ${issue.value}; every value must be a finite number`;
    case 'time-backwards':
      return `timeS[${issue.index}] = ${issue.value} is earlier than the row before; time must not run backwards`;
  }
}
