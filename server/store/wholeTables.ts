import { createHash, type Hash } from 'node:crypto';
import { CompiledQuery, sql } from 'kysely';
import type { DB } from './client/types.ts';
import { readLastId, setLastId } from './differences.ts';
import { insertRows } from './insertRows.ts';
import type { Store } from './store.ts';

// Tables as a whole, whatever their columns: for copying a database and for comparing two.

/** Not those that only say what is being stored, which nobody sees, or count the changes of this database. */
export type TableName = Exclude<keyof DB, 'IncomingFile' | 'IncomingChange' | 'LotChange'>;

/** All tables, each after those that its rows refer to, with what identifies a row where that is not `id`. */
const keysOf: { readonly [Table in TableName]: readonly string[] } = {
  Chemistry: ['id'],
  CellType: ['id'],
  Lot: ['id'],
  SourceFile: ['id'],
  Cell: ['id'],
  Test: ['id'],
  Pairing: ['id'],
  Pair: ['id'],
  PairCell: ['pairId', 'position'],
  Stack: ['id'],
  StackCell: ['stackId', 'position'],
  StackLog: ['id'],
  StackLogCell: ['stackLogId', 'position'],
  Record: ['id'],
  RecordChunk: ['recordId', 'column', 'firstRow'],
  LiveBatch: ['testId', 'key'],
  LiveStackLog: ['id'],
  LiveStackLogBatch: ['liveStackLogId', 'firstRow'],
  Sweep: ['id'],
  SweepPoint: ['sweepId', 'position'],
  Fit: ['id'],
  StackLogFit: ['fitId', 'stackLogId'],
  Step: ['id'],
  Measurement: ['id'],
  LotColumn: ['id'],
  PresentValue: ['measurementId'],
  ChargeStudy: ['id'],
  SupplyPart: ['id'],
  Export: ['id'],
  Job: ['id'],
  JobProgress: ['jobId'],
  Upload: ['id'],
  UploadPiece: ['uploadId', 'position'],
  ColumnMap: ['id'],
  NamePattern: ['id'],
  Attachment: ['id'],
  IdempotentAnswer: ['key', 'route'],
  Token: ['id'],
  AuditEntry: ['id'],
};

export const tableNames = Object.keys(keysOf) as readonly TableName[];

/** References to later rows of the same table, which are filled in when all rows are there. */
const laterReferences: Partial<Record<TableName, string>> = { Fit: 'supersededById' };

/** The one table whose identifiers the database does not count up. */
const namedByItsMaker: TableName = 'Upload';

/** Rows read at a time; those with many bytes a few only. */
const rowsAtATime = 1000;
const fewRows: Partial<Record<TableName, number>> = {
  RecordChunk: 32,
  Export: 4,
  Attachment: 4,
  UploadPiece: 8,
  Fit: 50,
};

type Row = Readonly<Record<string, unknown>>;

/** What a table holds: the number of its rows, and a SHA-256 over all values of all rows in the order of their keys. */
export interface TableContent {
  readonly rows: number;
  readonly sha256: string;
}

async function* pagesOf(store: Store, table: TableName): AsyncGenerator<readonly Row[]> {
  const limit = fewRows[table] ?? rowsAtATime;
  let last: Row | null = null;
  do {
    const rows: readonly Row[] = await readPageAfter(store, table, last, limit);
    if (rows.length > 0) yield rows;
    last = rows.length < limit ? null : rows[rows.length - 1];
  } while (last !== null);
}

async function readPageAfter(
  store: Store,
  table: TableName,
  last: Row | null,
  limit: number,
): Promise<readonly Row[]> {
  const keys = keysOf[table];
  const columns = sql.join(keys.map((key) => sql.ref(key)));
  const beyond =
    last === null ? sql`` : sql` where (${columns}) > (${sql.join(keys.map((key) => last[key]))})`;
  const all = sql<Row>`select * from ${sql.table(table)}`;
  return (await sql<Row>`${all}${beyond} order by ${columns} limit ${sql.lit(limit)}`.execute(store.db)).rows;
}

export async function countRows(store: Store, table: TableName): Promise<number> {
  const { rows } = await sql<{ n: number }>`select count(*) as n from ${sql.table(table)}`.execute(store.db);
  return rows[0].n;
}

/** The content of a table. @param onRows receives the number of rows as they are read */
export async function readTable(
  store: Store,
  table: TableName,
  onRows: (count: number) => void = () => {},
): Promise<TableContent> {
  const hash = createHash('sha256');
  let rows = 0;
  for await (const page of pagesOf(store, table)) {
    for (const row of page) addRow(hash, row);
    rows += page.length;
    onRows(page.length);
  }
  return { rows, sha256: hash.digest('hex') };
}

/**
 * Copies a table, with the identifiers of its rows, into the empty one of another store; both inside a transaction.
 *
 * @returns what was copied
 */
export async function copyTable(
  from: Store,
  to: Store,
  table: TableName,
  onRows: (count: number) => void = () => {},
): Promise<TableContent> {
  const later = laterReferences[table];
  const hash = createHash('sha256');
  const references: (readonly [id: unknown, refersTo: unknown])[] = [];
  let count = 0;
  for await (const page of pagesOf(from, table)) {
    for (const row of page) {
      addRow(hash, row);
      if (later !== undefined && row[later] !== null) references.push([row.id, row[later]]);
    }
    const rows = later === undefined ? page : page.map((row) => ({ ...row, [later]: null }));
    await insertRows(to, table, Object.keys(page[0]) as never[], rows as never[]);
    count += page.length;
    onRows(page.length);
  }
  if (later !== undefined) {
    const update = sql`update ${sql.table(table)} set ${sql.ref(later)} = ${0} where "id" = ${0}`.compile(
      to.db,
    );
    for (const [id, refersTo] of references)
      await to.db.executeQuery(CompiledQuery.raw(update.sql, [refersTo, id]));
  }
  if (keysOf[table][0] === 'id' && table !== namedByItsMaker)
    await setLastId(to, table, await readLastId(from, table));
  return { rows: count, sha256: hash.digest('hex') };
}

/** Empties all tables; inside a transaction. */
export async function clearTables(store: Store): Promise<void> {
  for (const [table, column] of Object.entries(laterReferences))
    await sql`update ${sql.table(table)} set ${sql.ref(column)} = null`.execute(store.db);
  await store.db.deleteFrom('IncomingFile').execute();
  await store.db.deleteFrom('IncomingChange').execute();
  for (const table of tableNames.toReversed()) await sql`delete from ${sql.table(table)}`.execute(store.db);
}

/** Every value by its kind and bits, in the order of the columns' names: two databases may state their columns otherwise. */
function addRow(hash: Hash, row: Row): void {
  for (const column of Object.keys(row).sort()) {
    const value = row[column];
    hash.update(`${column}:`);
    if (value === null) hash.update('null;');
    else if (typeof value === 'number') hash.update(bitsOf(value));
    else if (typeof value === 'string') hash.update(`text ${Buffer.byteLength(value)} ${value};`);
    else if (value instanceof Uint8Array) hash.update(`bytes ${value.length} `).update(value);
    else throw new TypeError(`The column ${column} holds a ${typeof value}.`);
  }
}

/** The eight bytes of a number; the two zeros are one. */
function bitsOf(value: number): Uint8Array {
  const bytes = Buffer.allocUnsafe(8);
  bytes.writeDoubleBE(value === 0 ? 0 : value);
  return bytes;
}
