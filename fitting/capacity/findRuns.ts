import { type RecordColumns, type RowRange, recordStretches } from '../records/index.ts';

/** One discharge or charge. The range holds one row before and the rows after it up to the next run, see findRuns. */
export interface ChargeRun extends RowRange {
  readonly direction: 'discharge' | 'charge';
  /** First and last row (included) with current of this direction. */
  readonly firstLoadedRow: number;
  readonly lastLoadedRow: number;
  /** Rows of opposite current that were counted into the run because they carry next to nothing. */
  readonly oppositeRows: readonly number[];
}

/** Settings of {@link findRuns}; all have defaults. */
export interface FindRunsOptions {
  /** Currents up to this magnitude count as rest. Default: 1 % of the 90th percentile of the record's magnitudes. */
  readonly restCurrentA?: number;
  /**
   * An opposite current that carries less than this share of the run before it does not end the run: a charge pulse
   * inside a pulsed discharge, or the start-up artefact of a charger. Default 0.02.
   */
  readonly interruptionShare?: number;
  /** A run that carries less than this share of the largest run is not reported. Default 0.02. */
  readonly leastShare?: number;
}

interface Loaded {
  start: number;
  end: number;
  sign: 1 | -1;
  chargeAh: number;
}

/**
 * Finds the discharges and charges of a record from its current alone. A pulsed discharge (pulses with rests between)
 * is one run; a rest does not end a run, only a current of the other sign that moves a noticeable charge does, or the
 * clock starting afresh. The rows of a run reach from the start of the rest before it to the end of the rest after it;
 * rests between two runs belong to the later one up to its first row and to the earlier one up to its end as well.
 *
 * @throws RangeError when the record is unfit (lengths, non-finite values, time running backwards)
 */
export function findRuns(record: RecordColumns, options: FindRunsOptions = {}): ChargeRun[] {
  const stretches = recordStretches(record);
  const interruptionShare = options.interruptionShare ?? 0.02;
  const leastShare = options.leastShare ?? 0.02;
  const rest = options.restCurrentA ?? 0.01 * usualCurrent(record.currentA);
  if (!(rest >= 0)) throw new RangeError(`restCurrentA must be 0 or more, got ${rest}`);
  const runs: { run: ChargeRun; chargeAh: number }[] = [];
  for (const stretch of stretches) {
    const groups = mergeLoaded(loadedPieces(record, stretch, rest), interruptionShare);
    groups.forEach((group, k) => {
      const own = group.pieces.filter((piece) => piece.sign === group.sign);
      const first = own[0].start;
      const last = own[own.length - 1].end;
      const before = k > 0 ? groups[k - 1].pieces[groups[k - 1].pieces.length - 1].end : stretch.start;
      const after = k + 1 < groups.length ? groups[k + 1].pieces[0].start : stretch.end;
      const oppositeRows: number[] = [];
      for (const piece of group.pieces) {
        if (piece.sign !== group.sign) for (let i = piece.start; i < piece.end; i++) oppositeRows.push(i);
      }
      runs.push({
        chargeAh: group.chargeAh,
        run: {
          direction: group.sign > 0 ? 'charge' : 'discharge',
          start: before,
          end: after,
          firstLoadedRow: first,
          lastLoadedRow: last - 1,
          oppositeRows,
        },
      });
    });
  }
  const most = Math.max(0, ...runs.map((r) => r.chargeAh));
  return runs.filter((r) => r.chargeAh > 0 && r.chargeAh >= leastShare * most).map((r) => r.run);
}

/** 90th percentile of the current's magnitude: single spikes do not move it. */
function usualCurrent(currentA: Float64Array): number {
  const sorted = currentA.map(Math.abs).sort();
  return sorted[Math.floor(0.9 * (sorted.length - 1))] || sorted[sorted.length - 1];
}

/** Stretches of one sign of current, with the charge each moved (rectangles, enough to tell large from small). */
function loadedPieces(record: RecordColumns, stretch: RowRange, rest: number): Loaded[] {
  const { timeS, currentA } = record;
  const pieces: Loaded[] = [];
  for (let i = stretch.start; i < stretch.end; i++) {
    const current = currentA[i];
    if (Math.abs(current) <= rest) continue;
    const sign = current > 0 ? 1 : -1;
    const span = (timeS[Math.min(i + 1, stretch.end - 1)] - timeS[Math.max(i - 1, stretch.start)]) / 7200;
    const previous = pieces[pieces.length - 1];
    if (previous !== undefined && previous.end === i && previous.sign === sign) {
      previous.end = i + 1;
      previous.chargeAh += Math.abs(current) * span;
    } else {
      pieces.push({ start: i, end: i + 1, sign, chargeAh: Math.abs(current) * span });
    }
  }
  return pieces;
}

interface Group {
  sign: 1 | -1;
  chargeAh: number;
  pieces: Loaded[];
}

/** Joins pieces of one sign over rests, and over opposite pieces that carry next to nothing. */
function mergeLoaded(pieces: readonly Loaded[], interruptionShare: number): Group[] {
  const groups: Group[] = [];
  for (const piece of pieces) {
    const open = groups[groups.length - 1];
    if (open !== undefined && open.sign === piece.sign) {
      open.pieces.push(piece);
      open.chargeAh += piece.chargeAh;
    } else {
      groups.push({ sign: piece.sign, chargeAh: piece.chargeAh, pieces: [piece] });
    }
  }
  for (let k = 0; k < groups.length; ) {
    const before = groups[k - 1];
    const after = groups[k + 1];
    const reference = Math.max(before?.chargeAh ?? 0, after?.chargeAh ?? 0);
    if (groups.length < 2 || groups[k].chargeAh >= interruptionShare * reference) {
      k++;
      continue;
    }
    const parts = [before, groups[k], after].filter((g): g is Group => g !== undefined);
    const main = parts.reduce((a, b) => (b.chargeAh > a.chargeAh ? b : a));
    const merged: Group = {
      sign: main.sign,
      chargeAh: parts.reduce((sum, g) => sum + (g.sign === main.sign ? g.chargeAh : -g.chargeAh), 0),
      pieces: parts.flatMap((g) => g.pieces),
    };
    const from = before === undefined ? k : k - 1;
    groups.splice(from, parts.length, merged);
    k = Math.max(from, 0);
  }
  return groups;
}
