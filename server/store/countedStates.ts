import { sql } from 'kysely';
import type { CountedSoc } from '../contract/common.ts';
import type { QuantityName } from '../contract/measurements.ts';
import { numbersIn } from './differences.ts';
import { refreshPresentValuesOf } from './presentValues.ts';
import type { Store } from './store.ts';

/** A state of charge that a record counted, with the measurement it belongs to. */
export interface CountedMeasurement extends CountedSoc {
  readonly id: number;
  readonly soc: number | null;
  readonly cycle: number | null;
}

/** The valid measurements of a cell whose state of charge was counted. */
export async function listCountedMeasurements(store: Store, cellId: number): Promise<CountedMeasurement[]> {
  const rows = await store.db
    .selectFrom('Measurement')
    .select(['id', 'soc', 'cycle', 'countedFromSoc', 'countedAh', 'countedRatedAh'])
    .where('cellId', '=', cellId)
    .where('supersededAt', 'is', null)
    .where('countedAh', 'is not', null)
    .execute();
  return rows.flatMap(({ countedFromSoc, countedAh, countedRatedAh, ...row }) =>
    countedFromSoc === null || countedAh === null
      ? []
      : [{ ...row, fromSoc: countedFromSoc, chargeAh: countedAh, ratedCapacityAh: countedRatedAh }],
  );
}

/** Changes the states of charge of measurements; inside a transaction. */
export async function setSocs(
  store: Store,
  changes: readonly { readonly id: number; readonly soc: number | null }[],
): Promise<void> {
  const changed: { cellId: number; quantity: QuantityName }[] = [];
  for (const { id, soc } of changes) {
    const rows = await store.db
      .updateTable('Measurement')
      .set({ soc })
      .where('id', '=', id)
      .returning(['cellId', 'quantity'])
      .execute();
    changed.push(...rows);
  }
  await refreshPresentValuesOf(store, changed);
}

/** Of the cells that a file brought values of, those with a valid state of charge that was counted. */
export async function listCountedCellsOf(store: Store, fileId: number): Promise<number[]> {
  // From the rows of the file, by their indexes: the counted ones of all files are many more.
  const { rows } = await sql<{ cellId: number }>`select o."cellId" from
    (select "cellId" from "Measurement" where "sourceFileId" = ${fileId}
     union select m."cellId" from "Test" x join "Measurement" m on m."testId" = x."id" where x."sourceFileId" = ${fileId}) o
    where exists (select 1 from "Measurement" c where c."cellId" = o."cellId" and c."supersededAt" is null
      and c."countedAh" is not null)`.execute(store.db);
  return rows.map(({ cellId }) => cellId);
}

/** Of some cells those with a valid state of charge that was counted. */
export async function countedAmong(store: Store, cellIds: readonly number[]): Promise<number[]> {
  if (cellIds.length === 0) return [];
  const { rows } = await sql<{ id: number }>`select c."id" from "Cell" c where c."id" in ${numbersIn(cellIds)}
    and exists (select 1 from "Measurement" m where m."cellId" = c."id" and m."supersededAt" is null
      and m."countedAh" is not null)`.execute(store.db);
  return rows.map(({ id }) => id);
}
