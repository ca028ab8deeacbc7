import type { ParameterSet } from '../contract/parameterSet.ts';
import type { Store } from './store.ts';
import { hasSweeps } from './sweeps.ts';

/** A pair as stored, with its cells and what the optimiser said of it. */
export interface StoredPair {
  readonly id: number;
  readonly pairingId: number;
  readonly position: number;
  readonly state: string;
  readonly cellAId: number;
  readonly cellBId: number;
  readonly cost: number;
  readonly detailJson: string;
  readonly lotId: number;
}

const pairColumns = `p.id, p.pairingId, p.position, p.state, p.cellAId, p.cellBId, p.cost, p.detailJson, g.lotId`;
const pairFrom = 'Pair p JOIN Pairing g ON g.id = p.pairingId';

export async function findStoredPair(store: Store, id: number): Promise<StoredPair | null> {
  return (await store.get<StoredPair>(`SELECT ${pairColumns} FROM ${pairFrom} WHERE p.id = ?`, id)) ?? null;
}

/** The pairs of one pairing run in their order. */
export async function listStoredPairs(store: Store, pairingId: number): Promise<StoredPair[]> {
  return store.all<StoredPair>(
    `SELECT ${pairColumns} FROM ${pairFrom} WHERE p.pairingId = ? ORDER BY p.position`,
    pairingId,
  );
}

/** The pairs of a lot that were accepted or built, in the order they were made. */
export async function listStandingPairs(store: Store, lotId: number): Promise<StoredPair[]> {
  return store.all<StoredPair>(
    `SELECT ${pairColumns} FROM ${pairFrom} WHERE g.lotId = ? AND p.state IN ('accepted', 'built') ORDER BY p.id`,
    lotId,
  );
}

export async function findPairingLot(
  store: Store,
  pairingId: number,
): Promise<{ id: number; lotId: number } | null> {
  return (
    (await store.get<{ id: number; lotId: number }>(
      'SELECT id, lotId FROM Pairing WHERE id = ?',
      pairingId,
    )) ?? null
  );
}

/** A charge study's documents as text. */
export interface StoredStudy {
  readonly id: number;
  readonly name: string;
  readonly descriptionJson: string;
  readonly resultJson: string | null;
}

export async function findStoredStudy(store: Store, id: number): Promise<StoredStudy | null> {
  return (
    (await store.get<StoredStudy>(
      'SELECT id, name, descriptionJson, resultJson FROM ChargeStudy WHERE id = ?',
      id,
    )) ?? null
  );
}

export async function listLotIds(store: Store, cellTypeId: number): Promise<number[]> {
  return (
    await store.all<{ id: number }>('SELECT id FROM Lot WHERE cellTypeId = ? ORDER BY id', cellTypeId)
  ).map((l) => l.id);
}

/** Tests of these cells that have a sealed record or spectra, oldest first. */
export async function listRecordTestIds(store: Store, cellIds: readonly number[]): Promise<number[]> {
  return (
    await store.all<{ id: number }>(
      `SELECT x.id FROM Test x LEFT JOIN Record r ON r.testId = x.id AND r.state = 'sealed'
       WHERE x.state = 'sealed' AND (r.id IS NOT NULL OR ${hasSweeps})
         AND x.cellId IN (SELECT value FROM json_each(?)) ORDER BY x.id`,
      JSON.stringify(cellIds),
    )
  ).map((row) => row.id);
}

/** The fits, tests and files with these identifiers, as a document states them; each list by identifier. */
export async function readOrigins(
  store: Store,
  ids: { fits: Iterable<number>; tests: Iterable<number>; files: Iterable<number> },
): Promise<Omit<ParameterSet['provenance'], 'software'>> {
  type Provenance = ParameterSet['provenance'];
  const list = (values: Iterable<number>) => JSON.stringify([...values]);
  const tests = await store.all<Provenance['tests'][number]>(
    `SELECT x.id, x.cellId, x.kind, x.label, x.startedAt, x.temperatureC, x.instrument, x.sourceFileId AS fileId,
       x.sourceRowFirst AS firstRow, x.sourceRowLast AS lastRow
     FROM Test x WHERE x.id IN (SELECT value FROM json_each(?)) ORDER BY x.id`,
    list(ids.tests),
  );
  const fileIds = new Set(ids.files);
  for (const test of tests) if (test.fileId !== null) fileIds.add(test.fileId);
  return {
    fits: await store.all<Provenance['fits'][number]>(
      `SELECT f.id, f.kind, f.testId, f.algorithm, f.algorithmVersion, f.createdAt, f.createdBy FROM Fit f
       WHERE f.id IN (SELECT value FROM json_each(?)) ORDER BY f.id`,
      list(ids.fits),
    ),
    tests,
    files: await store.all<Provenance['files'][number]>(
      `SELECT id, name, sha256, importedAt, importedBy FROM SourceFile
       WHERE id IN (SELECT value FROM json_each(?)) ORDER BY id`,
      list(fileIds),
    ),
  };
}
