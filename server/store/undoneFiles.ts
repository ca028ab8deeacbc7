import { type Expression, type SqlBool, sql } from 'kysely';
import type { Store } from './store.ts';

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

/** What else rests on the cell `c`: tests, values, pairs, stacks, notes, studies, and what was handed out of it. */
const cellIsUsed: Expression<SqlBool> = sql<SqlBool>`(
  EXISTS (SELECT 1 FROM "Test" x WHERE x."cellId" = c."id" AND x."sourceFileId" IS DISTINCT FROM c."sourceFileId")
  OR EXISTS (SELECT 1 FROM "Measurement" m WHERE m."cellId" = c."id" AND m."sourceFileId" IS DISTINCT FROM c."sourceFileId"
     AND (m."testId" IS NULL OR m."testId" NOT IN (SELECT "id" FROM "Test" WHERE "sourceFileId" = c."sourceFileId")))
  OR EXISTS (SELECT 1 FROM "Pair" p WHERE c."id" IN (p."cellAId", p."cellBId"))
  OR EXISTS (SELECT 1 FROM "StackCell" s WHERE s."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "Attachment" a WHERE a."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "ChargeStudy" t WHERE t."cellId" = c."id")
  OR EXISTS (SELECT 1 FROM "ChargeStudy" t, json_each(t."inputsJson", '$.cellIds') i WHERE i.value = c."id")
  OR EXISTS (SELECT 1 FROM "Export" e WHERE (e."subjectKind" = 'cell' AND e."subjectId" = c."id")
     OR (e."subjectKind" = 'lot' AND e."subjectId" = c."lotId")
     OR (e."subjectKind" = 'cell-type' AND e."subjectId" = (SELECT "cellTypeId" FROM "Lot" WHERE "id" = c."lotId"))
     OR (e."subjectKind" = 'test' AND e."subjectId" IN (SELECT "id" FROM "Test" WHERE "cellId" = c."id"))))`;

/** Removes a cell that a file brought, with its tests of that file. */
export async function deleteCellOf(store: Store, fileId: number, cellId: number): Promise<void> {
  await store.db.deleteFrom('Test').where('cellId', '=', cellId).where('sourceFileId', '=', fileId).execute();
  await store.db.deleteFrom('Cell').where('id', '=', cellId).execute();
}

/** Marks everything that came from a file as superseded, and its tests as undone: what was made from them stays traceable. */
export async function supersedeAllOf(store: Store, fileId: number, at: string): Promise<void> {
  const testsOfFile = store.db.selectFrom('Test').select('id').where('sourceFileId', '=', fileId);
  await store.db
    .updateTable('Measurement')
    .set({ supersededAt: at })
    .where('supersededAt', 'is', null)
    .where(({ or, eb }) => or([eb('sourceFileId', '=', fileId), eb('testId', 'in', testsOfFile)]))
    .execute();
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: at })
    .where('supersededAt', 'is', null)
    .where('testId', 'in', testsOfFile)
    .execute();
  await store.db.updateTable('Test').set({ state: 'undone' }).where('sourceFileId', '=', fileId).execute();
}
