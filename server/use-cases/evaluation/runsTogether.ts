import type { RecordColumns, RowRange } from '../../../fitting/records/index.ts';
import { type JoinedRun, joinRuns } from '../../../fitting/records/index.ts';
import { brokenRunsReason, type JoinedRuns } from '../../contract/joinedRuns.ts';
import { evaluationSettings, type Test } from '../../contract/tests.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findTestFit } from '../../store/fits.ts';
import { findRecord, readRecord } from '../../store/records.ts';
import { findTestRows } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import { findTest, listRunsOf } from '../../store/tests.ts';
import type { FileLine } from './pulseMeasurements.ts';

/** More runs than this are not put together: each of them is read whole. */
const mostRuns = 2000;

/** A record to evaluate: that of one test, or of several runs of a file put together. */
export interface RecordToEvaluate {
  readonly columns: RecordColumns;
  /** The tests whose rows it holds, in order; the first has the result. */
  readonly tests: readonly Test[];
  readonly runs: readonly JoinedRun[];
  /** Null for the record of one test. */
  readonly joined: JoinedRuns | null;
  /** Why the runs are not one record; null where they are. */
  readonly broken: string | null;
}

/**
 * The tests that a test is evaluated with as one record, itself included and in the file's order; itself alone where it
 * is evaluated alone.
 *
 * @param together what is asked; left out: as it was before, or alone where the other runs no longer hold
 * @throws Refusal where it is asked for and the file has no other run of the cell
 */
export async function testsTogether(store: Store, test: Test, together?: boolean): Promise<readonly Test[]> {
  if (!(together ?? test.evaluatedWithId !== null)) return [test];
  const runs = test.sourceFileId === null ? [] : await listRunsOf(store, test.sourceFileId, test.cellId);
  const has = runs.length > 1 && runs.some(({ id }) => id === test.id);
  if (!has && together === undefined) return [test];
  if (!has || runs.length > mostRuns)
    throw new Refusal('invalid-request', `Test ${test.id} cannot be evaluated together with other runs.`, [
      fieldError(
        'together',
        true,
        runs.length > mostRuns
          ? `the file has ${runs.length} runs of this cell`
          : 'its file has no other run of this cell with a record',
        runs.length > mostRuns
          ? `at most ${mostRuns} runs`
          : 'a test whose file holds several runs of its cell',
      ),
    ]);
  return runs;
}

/** The test that has the evaluation: the first of the runs that are evaluated as one record, or the test itself. */
export async function leadOf(store: Store, testId: number): Promise<number> {
  return (await findTest(store, testId))?.evaluatedWithId ?? testId;
}

/** The time between runs when they were last evaluated together, in s; null where none was stated. */
export async function gapBefore(store: Store, { evaluatedWithId }: Test): Promise<number | null> {
  const fit = evaluatedWithId === null ? null : await findTestFit(store, evaluatedWithId);
  return fit === null ? null : (evaluationSettings.parse(JSON.parse(fit.settingsJson)).runGapS ?? null);
}

/** The record that a test's evaluation is based on. @throws Refusal where a record is missing */
export async function readTogether(
  store: Store,
  tests: readonly Test[],
  gapS: number | null,
): Promise<RecordToEvaluate> {
  const parts = await inOrder(tests, async (test) => {
    const stored = await findRecord(store, test.id);
    if (stored === null) throw new Refusal('not-evaluable', `Test ${test.id} has no record to evaluate.`);
    const startsAtS = test.startedAt === null ? null : Date.parse(test.startedAt) / 1000;
    return { columns: await readRecord(store, stored), startsAtS };
  });
  const { columns, runs, byInstants, broken } = joinRuns(parts, gapS);
  const joined: JoinedRuns | null =
    tests.length === 1
      ? null
      : {
          follow: byInstants ? 'instants' : 'end-to-end',
          gapS,
          runs: tests.map(({ id, label }, k) => ({
            label,
            testId: id,
            firstRow: runs[k].start,
            lastRow: runs[k].end - 1,
            startTimeS: columns.timeS[runs[k].start],
          })),
        };
  const reason = broken === null ? null : brokenRunsReason(tests[broken.run].label, broken);
  return { columns, tests, runs, joined, broken: reason };
}

/** The line of the file for each row of a record that one or several runs make. */
export async function fileLines(
  store: Store,
  { tests, runs }: { readonly tests: readonly Test[]; readonly runs: readonly RowRange[] },
): Promise<FileLine> {
  const firsts = await inOrder(tests, async ({ id }, k) => {
    const lines = await findTestRows(store, id);
    const { first, last } = lines ?? { first: null, last: null };
    const sideBySide = first !== null && last !== null && last - first + 1 === runs[k].end - runs[k].start;
    return sideBySide ? first : null;
  });
  return (row) => {
    const k = runs.findIndex(({ start, end }) => row >= start && row < end);
    const first = k < 0 ? null : firsts[k];
    return first === null ? null : first + row - runs[k].start;
  };
}

/** The test among those evaluated together in which a row of their record lies. */
export function testOfRow({ tests, runs }: Pick<RecordToEvaluate, 'tests' | 'runs'>, row: number): Test {
  const k = runs.findIndex(({ start, end }) => row >= start && row < end);
  return tests[Math.max(0, k)];
}
