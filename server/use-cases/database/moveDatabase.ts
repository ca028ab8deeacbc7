import { setTimeout as delay } from 'node:timers/promises';
import { Refusal } from '../../errors.ts';
import { isAnyIncoming, sweepIncomingFiles } from '../../store/incomingFiles.ts';
import type { Store } from '../../store/store.ts';
import {
  clearTables,
  copyTable,
  countRows,
  readTable,
  type TableContent,
  type TableName,
  tableNames,
} from '../../store/wholeTables.ts';

/** A table that was moved. */
export interface MovedTable extends TableContent {
  readonly table: TableName;
}

/** What came of a move: `copied`, or `same` where the other database held exactly this already. */
export interface Move {
  readonly outcome: 'copied' | 'same';
  readonly tables: readonly MovedTable[];
}

const waitMs = 200;

/** Tables with a row in every database that somebody works with; a fresh one has none in them. */
const tablesOfWork: readonly TableName[] = [
  'CellType',
  'Lot',
  'SourceFile',
  'Job',
  'Token',
  'ColumnMap',
  'NamePattern',
];

/**
 * Copies everything of one database into another, as of one moment and whole or not at all, and compares the number of
 * rows and a SHA-256 over all values of every table. Nothing is written to the first one meanwhile. It can be repeated:
 * where the other database holds the same already, nothing is done.
 *
 * @param replace whether other work in the target is removed first; else it is refused
 * @param tell receives the rows done of all rows, each counted when it is copied and when it is read back
 * @throws Refusal `conflict` where the target holds other work, `storage-damaged` where a table does not read back as it
 *   was written; the target is then as before
 */
export async function moveDatabase(
  from: Store,
  to: Store,
  replace: boolean,
  tell: (done: number, of: number, table: TableName) => void,
): Promise<Move> {
  for (;;) {
    // A file that is just being stored in pieces is waited for; what an ended process left of one goes first.
    await sweepIncomingFiles(from, 'none');
    const moved = await from.transaction(async (source) =>
      (await isAnyIncoming(source)) ? null : copyAll(source, to, replace, tell),
    );
    if (moved !== null) return moved;
    await delay(waitMs);
  }
}

async function copyAll(
  source: Store,
  to: Store,
  replace: boolean,
  tell: (done: number, of: number, table: TableName) => void,
): Promise<Move> {
  return to.transaction(async (target) => {
    let total = 0;
    for (const table of tableNames) total += 2 * (await countRows(source, table));
    if (await isWorkedWith(target)) {
      const same = await sameTables(source, target, tell, total);
      if (same !== null) return { outcome: 'same', tables: same };
      if (!replace) throw holdsOtherWork();
    }
    await clearTables(target);
    let done = 0;
    const tables: MovedTable[] = [];
    for (const table of tableNames) {
      const counted = (rows: number) => {
        done += rows;
        tell(done, total, table);
      };
      const copied = await copyTable(source, target, table, counted);
      const found = await readTable(target, table, counted);
      if (found.rows !== copied.rows || found.sha256 !== copied.sha256) throw readsBackOtherwise(table);
      tables.push({ table, ...found });
    }
    return { outcome: 'copied', tables };
  });
}

async function isWorkedWith(store: Store): Promise<boolean> {
  for (const table of tablesOfWork) if ((await countRows(store, table)) > 0) return true;
  return false;
}

/** What both databases hold; null where they differ in anything. */
async function sameTables(
  source: Store,
  target: Store,
  tell: (done: number, of: number, table: TableName) => void,
  total: number,
): Promise<MovedTable[] | null> {
  let done = 0;
  const tables: MovedTable[] = [];
  for (const table of tableNames) {
    const counted = (rows: number) => {
      done += rows;
      tell(done, total, table);
    };
    if ((await countRows(source, table)) !== (await countRows(target, table))) return null;
    const here = await readTable(source, table, counted);
    const there = await readTable(target, table, counted);
    if (here.sha256 !== there.sha256) return null;
    tables.push({ table, ...here });
  }
  return tables;
}

function holdsOtherWork(): Refusal {
  return new Refusal(
    'conflict',
    'The database to move to holds other work. Nothing was changed. Name an empty one, or let it be replaced with --replace.',
  );
}

function readsBackOtherwise(table: TableName): Refusal {
  return new Refusal(
    'storage-damaged',
    `The table ${table} does not read back as it was written. The database to move to is as before.`,
  );
}
