import type { ReadingOptions } from '../contract/import.ts';
import type { SqlStore } from './store.ts';

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
  return { ...row, reading: JSON.parse(mapJson) as ReadingOptions };
}

const columns = 'id, name, fingerprint, mapJson, createdAt, lastUsedAt';

export async function listColumnMaps(store: SqlStore): Promise<StoredColumnMap[]> {
  return (await store.all<Row>(`SELECT ${columns} FROM ColumnMap ORDER BY name`)).map(present);
}

export async function findColumnMap(store: SqlStore, name: string): Promise<StoredColumnMap | null> {
  const row = await store.get<Row>(`SELECT ${columns} FROM ColumnMap WHERE name = ?`, name);
  return row === undefined ? null : present(row);
}

/** The map of a header like this one that was used last. */
export async function proposeColumnMap(
  store: SqlStore,
  fingerprint: string,
): Promise<StoredColumnMap | null> {
  const row = await store.get<Row>(
    `SELECT ${columns} FROM ColumnMap WHERE fingerprint = ? ORDER BY COALESCE(lastUsedAt, createdAt) DESC, id DESC LIMIT 1`,
    fingerprint,
  );
  return row === undefined ? null : present(row);
}

/** Keeps a map under a name; one of the same name is replaced. */
export async function saveColumnMap(
  store: SqlStore,
  map: { name: string; fingerprint: string; reading: ReadingOptions; createdAt: string },
): Promise<StoredColumnMap> {
  await store.run(
    `INSERT INTO ColumnMap (name, fingerprint, mapJson, createdAt) VALUES (?, ?, ?, ?)
     ON CONFLICT (name) DO UPDATE SET fingerprint = excluded.fingerprint, mapJson = excluded.mapJson`,
    map.name,
    map.fingerprint,
    JSON.stringify(map.reading),
    map.createdAt,
  );
  return (await findColumnMap(store, map.name)) as StoredColumnMap;
}

export async function noteColumnMapUse(store: SqlStore, name: string, at: string): Promise<void> {
  await store.run('UPDATE ColumnMap SET lastUsedAt = ? WHERE name = ?', at, name);
}

export async function deleteColumnMap(store: SqlStore, id: number): Promise<boolean> {
  return (await store.run('DELETE FROM ColumnMap WHERE id = ?', id)).changes === 1;
}

/** A pattern that reads serial, kind and temperature from file names. */
export interface StoredNamePattern {
  readonly id: number;
  readonly name: string;
  readonly pattern: string;
  readonly createdAt: string;
}

export async function listNamePatterns(store: SqlStore): Promise<StoredNamePattern[]> {
  return store.all('SELECT id, name, pattern, createdAt FROM NamePattern ORDER BY name');
}

/** Keeps a pattern under a name; one of the same name is replaced. */
export async function saveNamePattern(
  store: SqlStore,
  pattern: { name: string; pattern: string; createdAt: string },
): Promise<StoredNamePattern> {
  await store.run(
    `INSERT INTO NamePattern (name, pattern, createdAt) VALUES (?, ?, ?)
     ON CONFLICT (name) DO UPDATE SET pattern = excluded.pattern`,
    pattern.name,
    pattern.pattern,
    pattern.createdAt,
  );
  return (await store.get(
    'SELECT id, name, pattern, createdAt FROM NamePattern WHERE name = ?',
    pattern.name,
  )) as StoredNamePattern;
}

export async function deleteNamePattern(store: SqlStore, id: number): Promise<boolean> {
  return (await store.run('DELETE FROM NamePattern WHERE id = ?', id)).changes === 1;
}
