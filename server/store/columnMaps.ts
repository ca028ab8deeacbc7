import { type ReadingOptions, readingOptions } from '../contract/readingOptions.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** A column map kept under a name. */
export interface StoredColumnMap {
  readonly id: number;
  readonly name: string;
  readonly fingerprint: string;
  readonly reading: ReadingOptions;
  readonly createdAt: string;
  readonly lastUsedAt: string | null;
}

type Row = Omit<StoredColumnMap, 'reading'> & { mapJson: string };

function present({ mapJson, ...row }: Row): StoredColumnMap {
  return { ...row, reading: parseStored(readingOptions, mapJson, `column map ${row.name}`) };
}

function columnMaps(store: Store) {
  return store.db
    .selectFrom('ColumnMap')
    .select(['id', 'name', 'fingerprint', 'mapJson', 'createdAt', 'lastUsedAt']);
}

export async function listColumnMaps(store: Store): Promise<StoredColumnMap[]> {
  return (await columnMaps(store).orderBy('name').execute()).map(present);
}

export async function findColumnMap(store: Store, name: string): Promise<StoredColumnMap | null> {
  const row = await columnMaps(store).where('name', '=', name).executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** The map of a header like this one that was used last. */
export async function proposeColumnMap(store: Store, fingerprint: string): Promise<StoredColumnMap | null> {
  const row = await columnMaps(store)
    .where('fingerprint', '=', fingerprint)
    .orderBy(({ fn }) => fn.coalesce('lastUsedAt', 'createdAt'), 'desc')
    .orderBy('id', 'desc')
    .executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** Keeps a map under a name; one of the same name is replaced. */
export async function saveColumnMap(
  store: Store,
  map: { name: string; fingerprint: string; reading: ReadingOptions; createdAt: string },
): Promise<StoredColumnMap> {
  const { reading, ...rest } = map;
  const row = await store.db
    .insertInto('ColumnMap')
    .values({ ...rest, mapJson: JSON.stringify(reading) })
    .onConflict((conflict) =>
      conflict.column('name').doUpdateSet(({ ref }) => ({
        fingerprint: ref('excluded.fingerprint'),
        mapJson: ref('excluded.mapJson'),
      })),
    )
    .returning(['id', 'name', 'fingerprint', 'mapJson', 'createdAt', 'lastUsedAt'])
    .executeTakeFirstOrThrow();
  return present(row);
}

export async function noteColumnMapUse(store: Store, name: string, at: string): Promise<void> {
  await store.db.updateTable('ColumnMap').set({ lastUsedAt: at }).where('name', '=', name).execute();
}

export async function deleteColumnMap(store: Store, id: number): Promise<boolean> {
  const { numDeletedRows } = await store.db
    .deleteFrom('ColumnMap')
    .where('id', '=', id)
    .executeTakeFirstOrThrow();
  return numDeletedRows === 1n;
}

/** A pattern that reads serial, kind and temperature from file names. */
export interface StoredNamePattern {
  readonly id: number;
  readonly name: string;
  readonly pattern: string;
  readonly createdAt: string;
}

const patternColumns = ['id', 'name', 'pattern', 'createdAt'] as const;

export async function listNamePatterns(store: Store): Promise<StoredNamePattern[]> {
  return store.db.selectFrom('NamePattern').select(patternColumns).orderBy('name').execute();
}

export async function findNamePattern(store: Store, name: string): Promise<StoredNamePattern | null> {
  const row = await store.db
    .selectFrom('NamePattern')
    .select(patternColumns)
    .where('name', '=', name)
    .executeTakeFirst();
  return row ?? null;
}

/** Keeps a pattern under a name; one of the same name is replaced. */
export async function saveNamePattern(
  store: Store,
  pattern: { name: string; pattern: string; createdAt: string },
): Promise<StoredNamePattern> {
  return store.db
    .insertInto('NamePattern')
    .values(pattern)
    .onConflict((conflict) =>
      conflict.column('name').doUpdateSet(({ ref }) => ({ pattern: ref('excluded.pattern') })),
    )
    .returning(patternColumns)
    .executeTakeFirstOrThrow();
}

export async function deleteNamePattern(store: Store, id: number): Promise<boolean> {
  const { numDeletedRows } = await store.db
    .deleteFrom('NamePattern')
    .where('id', '=', id)
    .executeTakeFirstOrThrow();
  return numDeletedRows === 1n;
}
