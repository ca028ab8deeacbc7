import type { Page } from '../contract/common.ts';
import type { ChangeTest, Test, TestKind, TestStep } from '../contract/tests.ts';
import { readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';
import { hasSweeps } from './sweeps.ts';

interface TestRow extends Omit<Test, 'record' | 'spectra'> {
  rowCount: number | null;
  durationS: number | null;
  columnsJson: string | null;
  storedBytes: number | null;
  sweepCount: number;
  pointCount: number;
}

const columns = `x.id, x.version, x.cellId, c.serial AS cellSerial, c.lotId, l.name AS lotName, x.kind, x.label,
  x.startedAt, x.temperatureC, x.cycle, x.efc, x.startSoc, x.instrument, x.fixtureOhm, x.fixtureUncertaintyOhm, x.note,
  x.createdAt, x.evaluatedAt, x.evaluationError, x.sourceFileId, f.name AS sourceFileName, r.rowCount, r.durationS,
  r.columnsJson,
  (SELECT SUM(length(k.data)) FROM RecordChunk k WHERE k.recordId = r.id) AS storedBytes,
  (SELECT COUNT(*) FROM Sweep w WHERE w.testId = x.id) AS sweepCount,
  (SELECT COUNT(*) FROM Sweep w JOIN SweepPoint p ON p.sweepId = w.id WHERE w.testId = x.id) AS pointCount`;
const from = `Test x JOIN Cell c ON c.id = x.cellId JOIN Lot l ON l.id = c.lotId
  LEFT JOIN SourceFile f ON f.id = x.sourceFileId LEFT JOIN Record r ON r.testId = x.id AND r.state IN ('sealed', 'open')`;

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
            columns: (JSON.parse(columnsJson) as { name: string; unit: string }[]).map(({ name, unit }) => ({
              name,
              unit,
            })),
            storedBytes: storedBytes ?? 0,
          },
    spectra: sweepCount === 0 ? null : { sweepCount, pointCount },
  };
}

export async function findTest(store: SqlStore, id: number): Promise<Test | null> {
  const row = await store.get<TestRow>(
    `SELECT ${columns} FROM ${from} WHERE x.id = ? AND x.state IN ('sealed', 'open')`,
    id,
  );
  return row ? present(row) : null;
}

/** A page of tests, newest first. */
export async function pageTests(
  store: Store,
  query: {
    cursor?: string;
    limit: number;
    lotId?: number;
    cellId?: number;
    kind?: TestKind;
    evaluated?: 'yes' | 'no' | 'failed';
  },
): Promise<Page<Test>> {
  const where = [`x.state IN ('sealed', 'open')`];
  const values: SqlValue[] = [];
  const add = (sql: string, value: SqlValue | undefined) => {
    if (value === undefined) return;
    where.push(sql);
    values.push(value);
  };
  add('c.lotId = ?', query.lotId);
  add('x.cellId = ?', query.cellId);
  add('x.kind = ?', query.kind);
  if (query.evaluated === 'yes') where.push('x.evaluatedAt IS NOT NULL AND x.evaluationError IS NULL');
  if (query.evaluated === 'failed') where.push('x.evaluationError IS NOT NULL');
  if (query.evaluated === 'no') where.push(`x.evaluatedAt IS NULL AND (r.id IS NOT NULL OR ${hasSweeps})`);
  return readPage<TestRow, Test>(
    store,
    {
      select: columns,
      from,
      where,
      values,
      idColumn: 'x.id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => present(row),
  );
}

/**
 * Identifiers of a lot's tests that have a record or spectra, oldest first; only those not yet evaluated where asked. Rests come last,
 * because their leakage rests on what the other tests of the cell gave.
 */
export async function listTestIds(
  store: SqlStore,
  lotId: number,
  onlyNotEvaluated: boolean,
): Promise<number[]> {
  return (
    await store.all<{ id: number }>(
      `SELECT x.id FROM Test x JOIN Cell c ON c.id = x.cellId LEFT JOIN Record r ON r.testId = x.id AND r.state = 'sealed'
       WHERE c.lotId = ? AND x.state = 'sealed' AND (r.id IS NOT NULL OR ${hasSweeps}) ${onlyNotEvaluated ? 'AND x.evaluatedAt IS NULL' : ''} ORDER BY x.kind = 'rest', x.id`,
      lotId,
    )
  ).map((row) => row.id);
}

const changeable = [
  'kind',
  'label',
  'temperatureC',
  'startSoc',
  'cycle',
  'fixtureOhm',
  'fixtureUncertaintyOhm',
  'note',
] as const satisfies readonly (keyof ChangeTest)[];

/** Changes a test where it still has the version; returns whether it had. */
export async function updateTest(
  store: SqlStore,
  id: number,
  version: number,
  fields: ChangeTest,
): Promise<boolean> {
  return changeRow(store, 'Test', changeable, { id, version, fields });
}

/** Notes that a test was evaluated, or why it could not be; inside the evaluation's transaction. */
export async function markEvaluated(
  store: Store,
  testId: number,
  at: string,
  error: string | null,
): Promise<void> {
  await store.run('UPDATE Test SET evaluatedAt = ?, evaluationError = ? WHERE id = ?', at, error, testId);
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
  return id;
}

/** Steps of a test: as the instrument logged them, or as found by the valid evaluation. */
export async function listSteps(store: Store, testId: number): Promise<TestStep[]> {
  return store.all<TestStep>(
    `SELECT s.position, s.origin, s.mode, s.startTimeS, s.durationS, s.startRow, s.endRow, s.meanCurrentA,
       s.startVoltageV, s.endVoltageV, s.chargeAh, s.cycle
     FROM Step s LEFT JOIN Fit f ON f.id = s.fitId
     WHERE s.testId = ? AND (s.fitId IS NULL OR f.supersededAt IS NULL) ORDER BY s.origin, s.position`,
    testId,
  );
}

/** Stores steps; inside a transaction. */
export async function insertSteps(
  store: SqlStore,
  testId: number,
  fitId: number | null,
  steps: readonly TestStep[],
): Promise<void> {
  for (const step of steps) {
    await store.run(
      `INSERT INTO Step (testId, fitId, origin, position, mode, startTimeS, durationS, startRow, endRow, meanCurrentA,
         startVoltageV, endVoltageV, chargeAh, cycle) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      testId,
      fitId,
      step.origin,
      step.position,
      step.mode,
      step.startTimeS,
      step.durationS,
      step.startRow,
      step.endRow,
      step.meanCurrentA,
      step.startVoltageV,
      step.endVoltageV,
      step.chargeAh,
      step.cycle,
    );
  }
}
