import { type KeptRows, keepRows } from './keepRows.ts';
import type { RecordColumns } from './record.ts';
import { columnResolution } from './resolution.ts';

/** A column whose readings are renewed more slowly than rows are written. */
export interface RepeatedColumn {
  readonly column: 'voltageV' | 'currentA';
  /** Time between two readings of its own, in s. */
  readonly periodS: number;
  /** Rows that repeat an earlier reading. */
  readonly rows: number;
}

/** A record without the rows that repeat an earlier reading. */
export interface WithoutRepeats extends KeptRows {
  /** null where every row is a reading of its own. */
  readonly repeated: RepeatedColumn | null;
}

/** Fewest intervals between changes from which a period is concluded. */
const FEWEST = 12;
/** Share of the changes that may come earlier than the period. */
const EARLY = 0.03;
/** Part of the period within which a reading counts as not yet renewed. */
const NOT_YET = 0.9;
/** Fewest rows that kept an earlier reading. */
const FEWEST_KEPT = 30;
/** Least share of the renewals that show a change: without one, a reading is as likely steady as held. */
const SHOWN = 0.45;
/** Share of the largest current by which it changes at an edge. */
const EDGE = 0.05;
/** Longest period that is an instrument's, in s. Common practice, no source. */
const LONGEST_S = 10;

/**
 * Leaves out rows that repeat the reading of an earlier one, as a logger writes them that is quicker than its instrument. Such a
 * row bears a time at which nothing was read: at an edge it puts the change too late, and where only one column is held it puts the
 * current of one moment beside the voltage of another.
 *
 * A column is held where hardly any of its changes comes sooner than some period after the one before, although noise changes
 * it at most renewals, and rows were written meanwhile. Steps of one quantum in one direction say nothing: a slow voltage read
 * coarsely makes them, too; nor do the edges of the current, which come at times of their own.
 */
export function withoutRepeats(record: RecordColumns): WithoutRepeats {
  const { timeS } = record;
  const held = (['voltageV', 'currentA'] as const)
    .flatMap((column) => {
      const periodS = renewalPeriod(record, record[column]);
      return periodS === null ? [] : [{ column, periodS }];
    })
    .sort((a, b) => b.periodS - a.periodS);
  if (held.length === 0) return { ...keepRows(record, everyRow(record)), repeated: null };
  const kept = renewedRows(timeS, record[held[0].column], held[0].periodS);
  return { ...keepRows(record, kept), repeated: { ...held[0], rows: timeS.length - kept.length } };
}

const everyRow = ({ timeS }: RecordColumns): number[] => Array.from(timeS, (_, row) => row);

/** Rows at which a column differs from the row before. */
function changesOf(values: Float64Array): number[] {
  const rows: number[] = [];
  for (let k = 1; k < values.length; k++) if (Math.abs(values[k] - values[k - 1]) > 1e-12) rows.push(k);
  return rows;
}

/** Time between renewals of a column in s; null where each row may be a reading of its own. */
function renewalPeriod({ timeS, currentA }: RecordColumns, values: Float64Array): number | null {
  const changes = changesOf(values);
  const step = columnResolution(values);
  let largestA = 0;
  for (const current of currentA) largestA = Math.max(largestA, Math.abs(current));
  const atEdge = (row: number): boolean => Math.abs(currentA[row] - currentA[row - 1]) > EDGE * largestA;
  // Where no row was written between two changes, each row may be a reading of its own, however far apart they are.
  const keptBetween = (i: number): boolean => changes[i] - changes[i - 1] > 1;
  const telling = (i: number): boolean => {
    if (atEdge(changes[i]) || atEdge(changes[i - 1])) return false;
    const here = values[changes[i]] - values[changes[i] - 1];
    const before = values[changes[i - 1]] - values[changes[i - 1] - 1];
    return here * before < 0 || Math.abs(here) > 1.5 * step;
  };
  const gaps: number[] = [];
  let between = 0;
  for (let i = 1; i < changes.length; i++) {
    if (!keptBetween(i)) continue;
    between++;
    const gap = timeS[changes[i]] - timeS[changes[i - 1]];
    if (telling(i) && gap >= 0) gaps.push(gap);
  }
  if (gaps.length < FEWEST || gaps.length < SHOWN * between) return null;
  gaps.sort((a, b) => a - b);
  const periodS = gaps[Math.floor(EARLY * gaps.length)];
  if (!(periodS > 0) || periodS > LONGEST_S) return null;
  const renewals = gaps.reduce((sum, gap) => sum + Math.max(1, Math.round(gap / periodS)), 0);
  if (gaps.length < SHOWN * renewals) return null;
  let [kept, early] = [0, 0];
  for (let i = 0; i < changes.length; i++) {
    const next = changes[i + 1] ?? values.length;
    for (let k = changes[i] + 1; k < next && isWithin(timeS[k] - timeS[changes[i]], periodS); k++) kept++;
    if (next < values.length && isWithin(timeS[next] - timeS[changes[i]], periodS)) early++;
  }
  return kept >= FEWEST_KEPT && early <= EARLY * changes.length ? periodS : null;
}

const isWithin = (sinceS: number, periodS: number): boolean => sinceS >= 0 && sinceS < NOT_YET * periodS;

/** The rows at which a held column was renewed: where it changes, and one period after the other back from there. */
function renewedRows(timeS: Float64Array, values: Float64Array, periodS: number): number[] {
  const kept: number[] = [];
  let first = 0;
  for (const next of [...changesOf(values), values.length]) {
    kept.push(first);
    const between: number[] = [];
    let dueS = (next < values.length ? timeS[next] : timeS[values.length - 1] + periodS) - periodS;
    for (let k = next - 1; k > first && dueS - timeS[first] >= NOT_YET * periodS; k--) {
      if (timeS[k] > dueS + 1e-9 && timeS[k - 1] >= dueS) continue;
      between.unshift(k);
      dueS -= periodS;
    }
    kept.push(...between);
    first = next;
  }
  return kept;
}
