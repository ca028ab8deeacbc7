import { sql } from 'kysely';
import type { StoredPairing } from '../contract/pairings.ts';
import { numbersIn } from './differences.ts';
import type { Store } from './store.ts';

type Reason = StoredPairing['changedSince'][number]['reason'];

/** Which of these measurements no longer hold, and why. */
export async function listChangedMeasurements(
  store: Store,
  ids: readonly number[],
): Promise<ReadonlyMap<number, Reason>> {
  const { rows } = await sql<{ id: number; undone: number; superseded: number }>`
    SELECT m."id", CASE WHEN t."state" = 'undone' OR f."state" = 'undone' THEN 1 ELSE 0 END AS "undone",
      CASE WHEN m."supersededAt" IS NOT NULL THEN 1 ELSE 0 END AS "superseded"
    FROM "Measurement" m LEFT JOIN "Test" t ON t."id" = m."testId" LEFT JOIN "SourceFile" f ON f."id" = m."sourceFileId"
    WHERE m."id" IN ${numbersIn(ids)}
      AND (m."supersededAt" IS NOT NULL OR m."excludedReason" IS NOT NULL)`.execute(store.db);
  return new Map(
    rows.map((row): [number, Reason] => [
      row.id,
      row.undone === 1 ? 'import-undone' : row.superseded === 1 ? 'evaluated-again' : 'left-out',
    ]),
  );
}
