import { sql } from 'kysely';
import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import type { ChangeTest, Test, TestKind, TestStep } from '../contract/tests.ts';
import { bytesOf } from './differences.ts';
import { matchingIds, readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';
import { canBeEvaluated } from './sweeps.ts';
import { recountTests } from './testCounts.ts';

interface TestRow extends Omit<Test, 'record' | 'spectra'> {
  rowCount: number | null;
  durationS: number | null;
  columnsJson: string | null;
  storedBytes: number | null;
  sweepCount: number;
  pointCount: number;
}

const storedColumns = z.array(z.object({ name: z.string(), unit: z.string() }));

function tests(store: Store) {
  return store.db
    .selectFrom('Test as x')
    .innerJoin('Cell as c', 'c.id', 'x.cellId')
    .innerJoin('Lot as l', 'l.id', 'c.lotId')
    .leftJoin('SourceFile as f', 'f.id', 'x.sourceFileId')
    .leftJoin('Record as r', (join) =>
      join.onRef('r.testId', '=', 'x.id').on('r.state', 'in', ['sealed', 'open']),
    )
    .select(['x.id', 'x.version', 'x.cellId', 'c.serial as cellSerial', 'c.lotId', 'l.name as lotName'])
    .select(['x.kind', 'x.label', 'x.startedAt', 'x.temperatureC', 'x.cycle', 'x.efc', 'x.startSoc'])
    .select(['x.instrument', 'x.fixtureOhm', 'x.fixtureUncertaintyOhm', 'x.note', 'x.createdAt'])
    .select([
      'x.evaluatedAt',
      'x.evaluationError',
      'x.evaluatedWithId',
      'x.sourceFileId',
      'f.name as sourceFileName',
    ])
    .select(['r.rowCount', 'r.durationS', 'r.columnsJson'])
    .select(({ selectFrom, ref }) => {
      const sweeps = selectFrom('Sweep as w').whereRef('w.testId', '=', 'x.id');
      return [
        selectFrom('RecordChunk as k')
          .select(({ fn }) => fn.sum<number | null>(bytesOf(ref('k.data' as never))).as('n'))
          .whereRef('k.recordId', '=', 'r.id')
          .$asScalar()
          .as('storedBytes'),
        sweeps
          .select(({ fn }) => fn.countAll<number>().as('n'))
          .$asScalar()
          .$notNull()
          .as('sweepCount'),
        selectFrom('Test as y')
          .select(({ fn }) => fn.countAll<number>().as('n'))
          .whereRef('y.sourceFileId', '=', 'x.sourceFileId')
          .whereRef('y.cellId', '=', 'x.cellId')
          .$asScalar()
          .$notNull()
          .as('runsOfFile'),
        sweeps
          .innerJoin('SweepPoint as p', 'p.sweepId', 'w.id')
          .select(({ fn }) => fn.countAll<number>().as('n'))
          .$asScalar()
          .$notNull()
          .as('pointCount'),
      ];
    })
    .where('x.state', 'in', ['sealed', 'open']);
}

function present(row: TestRow): Test {
  const { rowCount, durationS, columnsJson, storedBytes, sweepCount, pointCount, ...test } = row;
  return {
    ...test,
    record:
      rowCount === null || durationS === null || columnsJson === null
        ? null
        : {
            rowCount,
            durationS,
            columns: parseStored(storedColumns, columnsJson, `columns of the record of test ${test.id}`).map(
              ({ name, unit }) => ({
                name,
                unit,
              }),
            ),
            storedBytes: storedBytes ?? 0,
          },
    spectra: sweepCount === 0 ? null : { sweepCount, pointCount },
  };
}

export async function findTest(store: Store, id: number): Promise<Test | null> {
  const row = await tests(store).where('x.id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** What a page of tests asks for. */
export interface TestsQuery {
  readonly cursor?: string;
  readonly limit: number;
  readonly lotId?: number;
  readonly cellId?: number;
  readonly kind?: TestKind;
  readonly evaluated?: 'yes' | 'no' | 'failed';
}

/** A page of tests, newest first. */
export async function pageTests(store: Store, query: TestsQuery): Promise<Page<Test>> {
  const { kind, cellId, evaluated } = query;
  const unfiltered = kind === undefined && cellId === undefined && evaluated === undefined;
  const ofLot = query.lotId === undefined ? null : await countTests(store, query.lotId);
  return readPage<TestRow, Test>(store, {
    matching: matchingTests(store, query, ofLot !== null && ofLot < fewTests),
    total: unfiltered ? (ofLot ?? (await countTests(store))) : undefined,
    rows: (ids) => tests(store).where('x.id', 'in', ids).execute(),
    present,
    sort: 'id',
    descending: true,
    cursor: query.cursor,
    limit: query.limit,
  });
}

/** A lot with fewer tests than this is found by them; of one with more the newest of all tests are looked through. */
const fewTests = 5000;

/** Number of the tests that are there, of all lots or of one: from the counts that are kept with the cells. */
export async function countTests(store: Store, lotId?: number): Promise<number> {
  const { sealed } = await store.db
    .selectFrom('Cell')
    .select(({ fn }) => fn.coalesce(fn.sum<number>('testCount'), sql.lit(0)).as('sealed'))
    .$if(lotId !== undefined, (found) => found.where('lotId', '=', lotId as number))
    .executeTakeFirstOrThrow();
  const { open } = await store.db
    .selectFrom('Test as x')
    .innerJoin('Cell as c', 'c.id', 'x.cellId')
    .select(({ fn }) => fn.countAll<number>().as('open'))
    .where('x.state', '=', 'open')
    .$if(lotId !== undefined, (found) => found.where('c.lotId', '=', lotId as number))
    .executeTakeFirstOrThrow();
  return sealed + open;
}

function matchingTests(store: Store, { lotId, cellId, kind, evaluated }: TestsQuery, byLot: boolean) {
  // Said by what is left out, so that the newest are read in the order of their identifiers until a page is full.
  const all = store.db
    .selectFrom('Test as x')
    .select('x.id')
    .where('x.state', 'not in', ['staged', 'undone']);
  return matchingIds(all, { 'x.cellId': cellId, 'x.kind': kind })
    .$if(lotId !== undefined && byLot, (found) =>
      found.where('x.cellId', 'in', ({ selectFrom }) =>
        selectFrom('Cell')
          .select('id')
          .where('lotId', '=', lotId as number),
      ),
    )
    .$if(lotId !== undefined && !byLot, (found) =>
      found.where(({ selectFrom, eb }) =>
        eb(selectFrom('Cell as c').select('c.lotId').whereRef('c.id', '=', 'x.cellId'), '=', lotId as number),
      ),
    )
    .$if(evaluated === 'yes', (found) =>
      found.where('x.evaluatedAt', 'is not', null).where('x.evaluationError', 'is', null),
    )
    .$if(evaluated === 'failed', (found) => found.where('x.evaluationError', 'is not', null))
    .$if(evaluated === 'no', (found) =>
      found.where('x.evaluatedAt', 'is', null).where(canBeEvaluated('x.id')),
    );
}

/** A test that waits for its evaluation, and the cell it is of. */
export interface TestToEvaluate {
  readonly id: number;
  readonly cellId: number;
  readonly kind: string;
}

/**
 * Identifiers of a lot's tests that have a record or spectra, oldest first; only those not yet evaluated where asked.
 * Rests come last, because their leakage uses the results of the cell's other tests.
 */
export async function listTestsToEvaluate(
  store: Store,
  lotId: number,
  onlyNotEvaluated: boolean,
): Promise<TestToEvaluate[]> {
  const rows = await store.db
    .selectFrom('Test as x')
    .innerJoin('Cell as c', 'c.id', 'x.cellId')
    .select(['x.id', 'x.kind', 'x.cellId'])
    .where('c.lotId', '=', lotId)
    .where('x.state', '=', 'sealed')
    .where(canBeEvaluated('x.id'))
    // The first of the runs that are evaluated as one record counts for all of them.
    .where(({ or, eb }) =>
      or([eb('x.evaluatedWithId', 'is', null), eb('x.evaluatedWithId', '=', eb.ref('x.id'))]),
    )
    .$if(onlyNotEvaluated, (found) => found.where('x.evaluatedAt', 'is', null))
    .orderBy('x.id')
    .execute();
  // States of charge are counted in capacities, and the leakage of a rest is read off an open-circuit curve.
  const turn = (kind: string) => (kind === 'capacity' || kind === 'cycling' ? 0 : kind === 'rest' ? 2 : 1);
  return rows.sort((a, b) => turn(a.kind) - turn(b.kind) || a.id - b.id);
}

/** Changes a test where it still has the version; returns whether it had. */
export async function updateTest(
  store: Store,
  id: number,
  version: number,
  fields: ChangeTest,
): Promise<boolean> {
  return changeRow(store, 'Test', { id, version, fields });
}

/** Notes that a test was evaluated (`at` null: that it is to be evaluated), or why it could not be; inside the evaluation's transaction. */
export async function markEvaluated(
  store: Store,
  testId: number,
  at: string | null,
  error: string | null,
): Promise<void> {
  await store.db
    .updateTable('Test')
    .set({ evaluatedAt: at, evaluationError: error })
    .where('id', '=', testId)
    .execute();
}

/** The tests of a file and a cell that have a record, in the file's order. */
export async function listRunsOf(store: Store, sourceFileId: number, cellId: number): Promise<Test[]> {
  const rows = await tests(store)
    .where('x.sourceFileId', '=', sourceFileId)
    .where('x.cellId', '=', cellId)
    .where('x.state', '=', 'sealed')
    .where('r.id', 'is not', null)
    .orderBy('x.sourceRowFirst')
    .orderBy('x.id')
    .execute();
  return rows.map(present);
}

/** Has tests evaluated as one record by a kind, or each alone again (`leadId` null). */
export async function setEvaluatedWith(
  store: Store,
  ids: readonly number[],
  leadId: number | null,
  kind?: TestKind,
): Promise<void> {
  await store.db
    .updateTable('Test')
    .set({ evaluatedWithId: leadId, ...(kind === undefined ? {} : { kind }) })
    .where('id', 'in', ids)
    .execute();
}

/** A test that a file brings. */
export interface NewTest {
  readonly cellId: number;
  readonly kind: TestKind;
  readonly label: string;
  readonly startedAt: string | null;
  readonly temperatureC: number | null;
  readonly startSoc?: number | null;
  readonly cycle: number | null;
  readonly sourceFileId: number;
  readonly firstRow: number;
  readonly lastRow: number;
  readonly createdAt: string;
}

/** Stores a test whose record is complete; inside the transaction that takes its file. */
export async function insertTest(store: Store, test: NewTest): Promise<number> {
  const { id } = await store.db
    .insertInto('Test')
    .values({
      cellId: test.cellId,
      kind: test.kind,
      state: 'sealed',
      label: test.label,
      startedAt: test.startedAt,
      temperatureC: test.temperatureC,
      startSoc: test.startSoc ?? null,
      cycle: test.cycle,
      sourceFileId: test.sourceFileId,
      sourceRowFirst: test.firstRow,
      sourceRowLast: test.lastRow,
      createdAt: test.createdAt,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  await recountTests(store, [test.cellId]);
  return id;
}

const stepColumns = [
  'position',
  'origin',
  'mode',
  'startTimeS',
  'durationS',
  'startRow',
  'endRow',
  'meanCurrentA',
  'startVoltageV',
  'endVoltageV',
  'chargeAh',
  'cycle',
] as const satisfies readonly (keyof TestStep)[];

/** Steps of a test: as the instrument logged them, or as found by the valid evaluation. */
export async function listSteps(store: Store, testId: number): Promise<TestStep[]> {
  return store.db
    .selectFrom('Step as s')
    .leftJoin('Fit as f', 'f.id', 's.fitId')
    .select(stepColumns.map((column) => `s.${column}` as const))
    .where('s.testId', '=', testId)
    .where(({ or, eb }) => or([eb('s.fitId', 'is', null), eb('f.supersededAt', 'is', null)]))
    .orderBy('s.origin')
    .orderBy('s.position')
    .execute();
}

/** Stores steps; inside a transaction. */
export async function insertSteps(
  store: Store,
  testId: number,
  fitId: number | null,
  steps: readonly TestStep[],
): Promise<void> {
  for (let i = 0; i < steps.length; i += stepsAtATime) {
    const rows = steps.slice(i, i + stepsAtATime).map((step) => ({
      testId,
      fitId,
      ...(Object.fromEntries(stepColumns.map((column) => [column, step[column]])) as TestStep),
    }));
    await store.db.insertInto('Step').values(rows).execute();
  }
}

/** Rows of one statement: far below the number of parameters that a database takes. */
const stepsAtATime = 100;
