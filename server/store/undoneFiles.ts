import { type Expression, type SqlBool, sql } from 'kysely';
import type { ImportConsequences } from '../contract/import.ts';
import { numbersAtPath, numbersIn, textAtPath } from './differences.ts';
import { hideRows } from './incomingFiles.ts';
import { refreshPresentValuesOf } from './presentValues.ts';
import type { Store } from './store.ts';
import { recountTests } from './testCounts.ts';

/** Whether a file brought more than so many values. */
export async function hasMoreValuesThan(store: Store, fileId: number, count: number): Promise<boolean> {
  const row = await store.db
    .selectFrom('Measurement')
    .select('id')
    .where('sourceFileId', '=', fileId)
    .offset(count)
    .limit(1)
    .executeTakeFirst();
  return row !== undefined;
}

/** Cells that a file brought and on which nothing of another origin rests. */
export async function listUnusedCellsOf(store: Store, fileId: number): Promise<number[]> {
  const rows = await store.db
    .selectFrom('Cell as c')
    .select('c.id')
    .where('c.sourceFileId', '=', fileId)
    .where(({ not }) => not(cellIsUsed))
    .execute();
  return rows.map(({ id }) => id);
}

/**
 * Lets nobody see the cells and values of a table any more, at once and however many they are, where they follow one
 * another and nothing else rests on them; they are removed in pieces afterwards. Inside a transaction.
 *
 * @returns how many cells; null where that cannot be said so quickly, or nobody would have to wait anyway
 */
export async function hideWithItsCells(tx: Store, fileId: number): Promise<number | null> {
  if (tx.place.kind !== 'sqlite') return null;
  const { rows } = await sql<SpanOfFile>`select
    (select min("id") from "Cell" where "sourceFileId" = ${fileId}) as "firstCellId",
    (select max("id") from "Cell" where "sourceFileId" = ${fileId}) as "lastCellId",
    (select count(*) from "Cell" where "sourceFileId" = ${fileId}) as "cells",
    (select min("id") from "Measurement" where "sourceFileId" = ${fileId}) as "firstMeasurementId",
    (select max("id") from "Measurement" where "sourceFileId" = ${fileId}) as "lastMeasurementId",
    (select count(*) from "Measurement" where "sourceFileId" = ${fileId}) as "measurements",
    (select "lotId" from "SourceFile" where "id" = ${fileId}) as "lotId"`.execute(tx.db);
  const [{ cells, measurements, ...span }] = rows;
  if (cells < fewCells || span.lotId === null || span.firstMeasurementId === null) return null;
  const { firstCellId, lastCellId, firstMeasurementId, lastMeasurementId, lotId } = span;
  const within = sql`between ${firstCellId} and ${lastCellId}`;
  const { rows: found } = await sql<{ foreign: number }>`select
    (select count(*) from "Cell" where "id" ${within}) <> ${cells}
    or ${lastMeasurementId - firstMeasurementId + 1} <> ${measurements}
    or (select count(*) from "Measurement" where "cellId" ${within}) <> ${measurements}
    or exists (select 1 from "Test" where "cellId" ${within}) or exists (select 1 from "Test" where "sourceFileId" = ${fileId})
    or exists (select 1 from "StackLog" where "sourceFileId" = ${fileId})
    or exists (select 1 from "PairCell" where "cellId" ${within})
    or exists (select 1 from "StackCell" where "cellId" ${within})
    or exists (select 1 from "Attachment" where "cellId" ${within})
    or exists (select 1 from "Fit" where "cellId" ${within})
    or exists (select 1 from "ChargeStudy" t where t."cellId" ${within} or exists (select 1 from
      (select value as "id" from json_each(iif(json_valid(t."inputsJson"), t."inputsJson", '{}'), '$.cellIds')) n where n."id" ${within}))
    or exists (select 1 from "Export" e join "SourceFile" f on f."id" = ${fileId} join "Lot" l on l."id" = f."lotId"
      where (e."subjectKind" = 'cell' and e."subjectId" ${within}) or (e."createdAt" >= f."importedAt"
        and ((e."subjectKind" = 'lot' and e."subjectId" = l."id") or (e."subjectKind" = 'cell-type' and e."subjectId" = l."cellTypeId"))))
    as "foreign"`.execute(tx.db);
  if (found[0].foreign !== 0) return null;
  await hideRows(tx, { lotId, firstCellId, lastCellId, firstMeasurementId, lastMeasurementId });
  return cells;
}

/** Where the cells and values of a file are; that they are as many as the identifiers between is not said yet. */
interface SpanOfFile {
  readonly firstCellId: number;
  readonly lastCellId: number;
  readonly cells: number;
  readonly firstMeasurementId: number | null;
  readonly lastMeasurementId: number;
  readonly measurements: number;
  readonly lotId: number | null;
}

/** Fewer cells are removed in one transaction. */
const fewCells = 100;

/** What else uses the cell `c`: tests, values, pairs, stacks, notes, studies and exports made since it came. */
const cellIsUsed: Expression<SqlBool> = sql<SqlBool>`(
  EXISTS (SELECT 1 FROM "Test" x WHERE x."cellId" = c."id" AND x."sourceFileId" IS DISTINCT FROM c."sourceFileId")
  OR EXISTS (SELECT 1 FROM "Measurement" m WHERE m."cellId" = c."id" AND m."sourceFileId" IS DISTINCT FROM c."sourceFileId"
     AND (m."testId" IS NULL OR m."testId" NOT IN (SELECT "id" FROM "Test" WHERE "sourceFileId" = c."sourceFileId")))
  OR EXISTS (SELECT 1 FROM "PairCell" k WHERE k."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "StackCell" s WHERE s."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "Attachment" a WHERE a."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "ChargeStudy" t WHERE t."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "ChargeStudy" t WHERE c."id" IN ${numbersAtPath(sql.ref('t.inputsJson'), ['cellIds'])})
  OR EXISTS (SELECT 1 FROM "Export" e WHERE (e."subjectKind" = 'cell' AND e."subjectId" = c."id")
     OR (e."subjectKind" = 'lot' AND e."subjectId" = c."lotId" AND e."createdAt" >= c."createdAt")
     OR (e."subjectKind" = 'cell-type' AND e."createdAt" >= c."createdAt" AND e."subjectId" = (SELECT "cellTypeId" FROM "Lot" WHERE "id" = c."lotId"))
     OR (e."subjectKind" = 'test' AND e."subjectId" IN (SELECT "id" FROM "Test" WHERE "cellId" = c."id"))))`;

/** Removes a cell that a file brought, with its tests of that file. */
export async function deleteCellOf(store: Store, fileId: number, cellId: number): Promise<void> {
  await store.db.deleteFrom('Test').where('cellId', '=', cellId).where('sourceFileId', '=', fileId).execute();
  await store.db.deleteFrom('Cell').where('id', '=', cellId).execute();
}

/** Marks everything that came from a file as superseded, and its tests as undone: what was made from them stays traceable. */
export async function supersedeAllOf(store: Store, fileId: number, at: string): Promise<void> {
  const testsOfFile = store.db.selectFrom('Test').select('id').where('sourceFileId', '=', fileId);
  const changed = await store.db
    .updateTable('Measurement')
    .set({ supersededAt: at })
    .where('supersededAt', 'is', null)
    .where(({ or, eb }) => or([eb('sourceFileId', '=', fileId), eb('testId', 'in', testsOfFile)]))
    .returning(['cellId', 'quantity'])
    .execute();
  await refreshPresentValuesOf(store, changed);
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: at })
    .where('supersededAt', 'is', null)
    .where('testId', 'in', testsOfFile)
    .execute();
  await setStateOfTests(store, fileId, 'undone');
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: at })
    .where('supersededAt', 'is', null)
    .where('id', 'in', fitsOfLogs(store, fileId))
    .execute();
  await store.db
    .updateTable('StackLog')
    .set({ state: 'undone' })
    .where('sourceFileId', '=', fileId)
    .execute();
}

/** Undoes the tests of a file, or lets those that were undone hold again. */
async function setStateOfTests(store: Store, fileId: number, state: 'sealed' | 'undone'): Promise<void> {
  const changed = await store.db
    .updateTable('Test')
    .set({ state })
    .where('sourceFileId', '=', fileId)
    .$if(state === 'sealed', (found) => found.where('state', '=', 'undone'))
    .returning('cellId')
    .execute();
  await recountTests(
    store,
    changed.map(({ cellId }) => cellId),
  );
}

/** Evaluations that are based on a stack log of the file. */
function fitsOfLogs(store: Store, fileId: number) {
  return store.db
    .selectFrom('StackLogFit as k')
    .innerJoin('StackLog as g', 'g.id', 'k.stackLogId')
    .select('k.fitId')
    .where('g.sourceFileId', '=', fileId);
}

/**
 * Lets everything that was superseded by undoing the file at that instant hold again.
 *
 * @returns false where the same bytes are taken meanwhile
 */
export async function restoreAllOf(store: Store, fileId: number, undoneAt: string): Promise<boolean> {
  const file = await store.db
    .selectFrom('SourceFile')
    .select('sha256')
    .where('id', '=', fileId)
    .executeTakeFirstOrThrow();
  const again = await store.db
    .selectFrom('SourceFile')
    .select('id')
    .where('takenSha256', '=', file.sha256)
    .executeTakeFirst();
  if (again !== undefined) return false;
  const testsOfFile = store.db.selectFrom('Test').select('id').where('sourceFileId', '=', fileId);
  await store.db
    .updateTable('SourceFile')
    .set({ state: 'taken', takenSha256: file.sha256 })
    .where('id', '=', fileId)
    .execute();
  const changed = await store.db
    .updateTable('Measurement')
    .set({ supersededAt: null })
    .where('supersededAt', '=', undoneAt)
    .where(({ or, eb }) => or([eb('sourceFileId', '=', fileId), eb('testId', 'in', testsOfFile)]))
    .returning(['cellId', 'quantity'])
    .execute();
  await refreshPresentValuesOf(store, changed);
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: null })
    .where('supersededAt', '=', undoneAt)
    .where('testId', 'in', testsOfFile)
    .execute();
  await setStateOfTests(store, fileId, 'sealed');
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: null })
    .where('supersededAt', '=', undoneAt)
    .where('id', 'in', fitsOfLogs(store, fileId))
    .execute();
  await store.db
    .updateTable('StackLog')
    .set({ state: 'sealed' })
    .where('sourceFileId', '=', fileId)
    .execute();
  return true;
}

/** What depends on a file: its tests and values, the cells it touches, and what was made of those cells. */
export async function readTouchedBy(store: Store, fileId: number): Promise<ImportConsequences> {
  const removed = new Set(await listUnusedCellsOf(store, fileId));
  const testsOfFile = store.db.selectFrom('Test').select('id').where('sourceFileId', '=', fileId);
  const cells = await store.db
    .selectFrom('Cell as c')
    .select(['c.id', 'c.serial'])
    .where(({ or, eb, exists, selectFrom }) =>
      or([
        eb('c.sourceFileId', '=', fileId),
        exists(
          selectFrom('Test as t')
            .select('t.id')
            .whereRef('t.cellId', '=', 'c.id')
            .where('t.sourceFileId', '=', fileId),
        ),
        exists(
          selectFrom('StackLogCell as k')
            .innerJoin('StackLog as g', 'g.id', 'k.stackLogId')
            .select('g.id')
            .whereRef('k.cellId', '=', 'c.id')
            .where('g.sourceFileId', '=', fileId),
        ),
        exists(
          selectFrom('Measurement as m')
            .select('m.id')
            .whereRef('m.cellId', '=', 'c.id')
            .where('m.sourceFileId', '=', fileId),
        ),
      ]),
    )
    .orderBy('c.serial')
    .execute();
  const count = async (table: 'Test' | 'Measurement' | 'StackLog') => {
    const query = store.db.selectFrom(table).select(({ fn }) => fn.countAll<number>().as('n'));
    const { n } = await (table !== 'Measurement'
      ? query.where('sourceFileId', '=', fileId)
      : query.where(({ or, eb }) => or([eb('sourceFileId', '=', fileId), eb('testId', 'in', testsOfFile)]))
    ).executeTakeFirstOrThrow();
    return Number(n);
  };
  const ids = cells.map((c) => c.id);
  const made = await readMadeOf(store, ids);
  return {
    tests: await count('Test'),
    measurements: await count('Measurement'),
    stackLogs: await count('StackLog'),
    cellsRemoved: cells.filter((c) => removed.has(c.id)).map((c) => c.serial),
    cellsKept: cells.filter((c) => !removed.has(c.id)).map((c) => c.serial),
    ...made,
  };
}

/** Pairings, stacks, charge studies and exports of some cells. */
async function readMadeOf(store: Store, cellIds: readonly number[]) {
  const inList = numbersIn(cellIds);
  const rows = async (query: ReturnType<typeof sql<{ id: number; name: string | null }>>) =>
    (await query.execute(store.db)).rows.map(({ id, name }) => ({ id, name: name ?? `${id}` }));
  const pairings = await rows(
    sql`SELECT DISTINCT p."id", ${textAtPath(sql.ref('p.criteriaJson'), ['name'])} AS "name" FROM "Pairing" p JOIN "Pair" q ON q."pairingId" = p."id"
      JOIN "PairCell" k ON k."pairId" = q."id" WHERE k."cellId" IN ${inList} ORDER BY p."id"`,
  );
  const stacks = await rows(
    sql`SELECT DISTINCT s."id", s."name" FROM "Stack" s JOIN "StackCell" k ON k."stackId" = s."id" WHERE k."cellId" IN ${inList} ORDER BY s."id"`,
  );
  const chargeStudies = await rows(
    sql`SELECT DISTINCT t."id", t."name" FROM "ChargeStudy" t WHERE t."cellId" IN ${inList}
      OR t."stackId" IN (SELECT k."stackId" FROM "StackCell" k WHERE k."cellId" IN ${inList}) ORDER BY t."id"`,
  );
  const exports = await sql<{ n: number }>`SELECT COUNT(*) AS "n" FROM "Export" e
      WHERE (e."subjectKind" = 'cell' AND e."subjectId" IN ${inList})
      OR (e."subjectKind" = 'lot' AND e."subjectId" IN (SELECT c."lotId" FROM "Cell" c WHERE c."id" IN ${inList}
        AND e."createdAt" >= c."createdAt"))
      OR (e."subjectKind" = 'stack' AND e."subjectId" IN (SELECT k."stackId" FROM "StackCell" k WHERE k."cellId" IN ${inList}))`.execute(
    store.db,
  );
  return { pairings, stacks, chargeStudies, exports: Number(exports.rows[0]?.n ?? 0) };
}
