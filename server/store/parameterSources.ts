import type { ParameterSet } from '../contract/parameterSet.ts';
import { numbersIn } from './differences.ts';
import type { Store } from './store.ts';
import { canBeEvaluated } from './sweeps.ts';

export async function findPairingLot(
  store: Store,
  pairingId: number,
): Promise<{ id: number; lotId: number } | null> {
  const row = await store.db
    .selectFrom('Pairing')
    .select(['id', 'lotId'])
    .where('id', '=', pairingId)
    .executeTakeFirst();
  return row ?? null;
}

/** A charge study's documents as text. */
export interface StoredStudy {
  readonly id: number;
  readonly name: string;
  readonly descriptionJson: string;
  readonly resultJson: string | null;
}

export async function findStoredStudy(store: Store, id: number): Promise<StoredStudy | null> {
  const row = await store.db
    .selectFrom('ChargeStudy')
    .select(['id', 'name', 'descriptionJson', 'resultJson'])
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

export async function listLotIds(store: Store, cellTypeId: number): Promise<number[]> {
  const rows = await store.db
    .selectFrom('Lot')
    .select('id')
    .where('cellTypeId', '=', cellTypeId)
    .orderBy('id')
    .execute();
  return rows.map(({ id }) => id);
}

/** Tests of these cells that have a sealed record or spectra, oldest first. */
export async function listRecordTestIds(store: Store, cellIds: readonly number[]): Promise<number[]> {
  const rows = await store.db
    .selectFrom('Test as x')
    .select('x.id')
    .where('x.state', '=', 'sealed')
    .where(canBeEvaluated('x.id'))
    .where('x.cellId', 'in', numbersIn(cellIds))
    .orderBy('x.id')
    .execute();
  return rows.map(({ id }) => id);
}

/** The fits, tests and files with these identifiers, as a document states them; each list by identifier. */
export async function readOrigins(
  store: Store,
  ids: { fits: Iterable<number>; tests: Iterable<number>; files: Iterable<number> },
): Promise<Omit<ParameterSet['provenance'], 'software'>> {
  const tests = await store.db
    .selectFrom('Test')
    .select(['id', 'cellId', 'kind', 'label', 'startedAt', 'temperatureC', 'instrument'])
    .select(['sourceFileId as fileId', 'sourceRowFirst as firstRow', 'sourceRowLast as lastRow'])
    .where('id', 'in', numbersIn(ids.tests))
    .orderBy('id')
    .execute();
  const fileIds = new Set(ids.files);
  for (const test of tests) if (test.fileId !== null) fileIds.add(test.fileId);
  return {
    fits: await store.db
      .selectFrom('Fit')
      .select(['id', 'kind', 'testId', 'algorithm', 'algorithmVersion', 'createdAt', 'createdBy'])
      .where('id', 'in', numbersIn(ids.fits))
      .orderBy('id')
      .execute(),
    tests,
    files: await store.db
      .selectFrom('SourceFile')
      .select(['id', 'name', 'sha256', 'importedAt', 'importedBy'])
      .where('id', 'in', numbersIn(fileIds))
      .orderBy('id')
      .execute(),
  };
}
