import { hostname } from 'node:os';
import { setTimeout as delay } from 'node:timers/promises';
import { sql } from 'kysely';
import { storageRefusal } from '../errors.ts';
import { numbersIn, readLastId, setLastId } from './differences.ts';
import { isProcessAlive } from './processAlive.ts';
import type { Store } from './store.ts';

// Files that are stored in pieces, on a database where one long transaction would keep all other writers waiting.

/** What a file that is stored in pieces has been given: identifiers that follow one another. */
export interface IncomingFile {
  readonly sourceFileId: number;
  readonly lotId: number;
  readonly firstCellId: number;
  readonly lastCellId: number;
  readonly firstMeasurementId: number;
  readonly lastMeasurementId: number;
}

/** Whose process is on another machine and stored nothing for so long is taken for ended. */
const silentMs = 10 * 60_000;
/** A piece that holds the lock for less is made larger, one that holds it for longer smaller. */
const pieceMs = 30;
/** Others look for the lock at least this often, so in so long a pause whoever waits gets it. */
export const pauseMs = 20;
const mostRows = 4000;

/** How many rows the next piece takes, found by the time that pieces hold the lock; pauses between the pieces. */
export class Pieces {
  /** A machine that is busy with other things makes every piece seem long. */
  private readonly least: number;
  private rows: number;

  /** @param first rows of the first piece; fewer where each takes long, where a row means much work */
  constructor(first: number) {
    this.least = Math.ceil(first / 2);
    this.rows = first;
  }

  /** Does the work for rows 0 to `count` in pieces, in order. `piece` is one transaction and gets a range of rows. */
  async through(count: number, piece: (from: number, to: number) => Promise<void>): Promise<void> {
    for (let from = 0; from < count; ) {
      const to = Math.min(count, from + this.rows);
      const start = performance.now();
      await piece(from, to);
      const tookMs = performance.now() - start;
      const fitting = Math.round(((to - from) * pieceMs) / Math.max(1, tookMs));
      if (to - from === this.rows || fitting < this.rows)
        this.rows = Math.max(this.least, Math.min(mostRows, 2 * this.rows, fitting));
      from = to;
      await delay(pauseMs);
    }
  }
}

const myName = `${hostname()}:${process.pid}`;

/** Reserves the identifiers of a file that is to be stored in pieces; in the transaction that stores its source file. */
export async function beginIncoming(
  tx: Store,
  file: {
    readonly sourceFileId: number;
    readonly lotId: number;
    readonly batch: string;
    readonly cells: number;
    readonly measurements: number;
  },
): Promise<IncomingFile> {
  const { sourceFileId, lotId, batch } = file;
  const [firstCellId, lastCellId] = await reserve(tx, 'Cell', file.cells);
  const [firstMeasurementId, lastMeasurementId] = await reserve(tx, 'Measurement', file.measurements);
  const incoming = {
    sourceFileId,
    lotId,
    firstCellId,
    lastCellId,
    firstMeasurementId,
    lastMeasurementId,
  };
  await tx.db
    .insertInto('IncomingFile')
    .values({ ...incoming, storedBy: myName, batch, touchedAt: new Date().toISOString() })
    .execute();
  return incoming;
}

/** Whose rows are hidden for good, and only wait to be removed. */
const nobody = '';

/** Lets nobody see rows any more that are of no use; {@link sweepIncomingFiles} removes them. In a transaction. */
export async function hideRows(tx: Store, rows: Omit<IncomingFile, 'sourceFileId'>): Promise<void> {
  const { least } = await tx.db
    .selectFrom('IncomingFile')
    .select(({ fn }) => fn.min<number | null>('sourceFileId').as('least'))
    .executeTakeFirstOrThrow();
  // No source file has this number: that of the rows stays.
  const sourceFileId = Math.min(0, least ?? 0) - 1;
  await tx.db
    .insertInto('IncomingFile')
    .values({ ...rows, sourceFileId, storedBy: nobody, batch: '', touchedAt: new Date().toISOString() })
    .execute();
}

/** First and last of so many identifiers that nobody else is given; last before first for none. */
async function reserve(tx: Store, table: string, count: number): Promise<[number, number]> {
  const last = await readLastId(tx, table);
  if (count > 0) await setLastId(tx, table, last + count);
  return [last + 1, last + count];
}

/** Notes that the file is still being stored; in the transaction of each piece. @throws Error where it was given up */
export async function touchIncoming(tx: Store, sourceFileId: number): Promise<void> {
  const { numUpdatedRows } = await tx.db
    .updateTable('IncomingFile')
    .set({ touchedAt: new Date().toISOString() })
    .where('sourceFileId', '=', sourceFileId)
    .executeTakeFirstOrThrow();
  if (numUpdatedRows !== 1n) throw new Error(`The file ${sourceFileId} that is being stored is gone.`);
}

/**
 * Shows everything of the file, and hides what its values replace; the last thing but what depends on it, in the
 * transaction that takes the file. {@link endIncoming} is to follow, after {@link settleIncoming} where it replaces any.
 */
export async function showIncoming(tx: Store, sourceFileId: number): Promise<void> {
  await touchIncoming(tx, sourceFileId);
  await tx.db
    .updateTable('IncomingFile')
    .set({ shown: 1 })
    .where('sourceFileId', '=', sourceFileId)
    .execute();
}

/** `Cell.canBePaired` of a cell that has what pairing needs as soon as the file of its lot is shown. */
export const pairedOnceShown = 2;

/** Whether any file is being stored in pieces. */
export async function isAnyIncoming(store: Store): Promise<boolean> {
  if (store.place.kind !== 'sqlite') return false;
  return (
    (await store.db.selectFrom('IncomingFile').select('sourceFileId').limit(1).executeTakeFirst()) !==
    undefined
  );
}

/**
 * Notes of cells whose values change that what a file being stored in pieces makes of them is to be found again; in the
 * transaction that changes them.
 */
export async function noteIncomingChanges(tx: Store, cellIds: readonly number[]): Promise<void> {
  if (!(await isAnyIncoming(tx))) return;
  await sql`insert into "IncomingChange" ("sourceFileId", "cellId")
    select f."sourceFileId", c."id" from main."Cell" c cross join "IncomingFile" f on f."lotId" = c."lotId"
    where f."shown" = 0 and c."id" in ${numbersIn(cellIds)} and c."id" not between f."firstCellId" and f."lastCellId"
    on conflict do nothing`.execute(tx.db);
}

/** The cells of which {@link noteIncomingChanges} noted something for a file. */
export async function listIncomingChanges(tx: Store, sourceFileId: number): Promise<number[]> {
  const rows = await tx.db
    .selectFrom('IncomingChange')
    .select('cellId')
    .where('sourceFileId', '=', sourceFileId)
    .execute();
  return rows.map(({ cellId }) => cellId);
}

/** Whether a file is being stored in pieces into a lot. */
export async function hasIncoming(store: Store, lotId: number): Promise<boolean> {
  if (store.place.kind !== 'sqlite') return false;
  const row = await store.db
    .selectFrom('IncomingFile')
    .select('sourceFileId')
    .where('lotId', '=', lotId)
    .executeTakeFirst();
  return row !== undefined;
}

/** Whether a cell that is being stored, and that nobody sees yet, has this serial. */
export async function isSerialIncoming(
  { place, db }: Store,
  lotId: number,
  serial: string,
): Promise<boolean> {
  if (place.kind !== 'sqlite') return false;
  // The table itself, not the view of what is shown.
  const { rows } = await sql`select 1 from main."Cell" c where c."lotId" = ${lotId} and c."serial" = ${serial}
    and exists (select 1 from "IncomingFile" f where c."id" between f."firstCellId" and f."lastCellId")`.execute(
    db,
  );
  return rows.length > 0;
}

function beneathOf({ beneath }: Store): NonNullable<Store['beneath']> {
  if (beneath === null)
    throw new Error('A file is stored in pieces only where transactions keep others waiting.');
  return beneath;
}

/** Removes, in pieces, what the values of a file replaced that is shown; nobody sees it any more. */
export async function settleIncoming(store: Store, file: IncomingFile): Promise<void> {
  const beneath = beneathOf(store);
  const { firstMeasurementId: first, lastMeasurementId: last } = file;
  await new Pieces(200).through(last - first + 1, (from, to) =>
    beneath(async (tx) => {
      await sql`delete from "PresentValue" where "measurementId" in (select o."measurementId"
        from "PresentValue" n cross join "PresentValue" o on o."columnId" = n."columnId" and o."cellId" = n."cellId" and o."rate" = n."rate"
        where n."measurementId" >= ${first + from} and n."measurementId" < ${first + to}
          and o."measurementId" not between ${first} and ${last})`.execute(tx.db);
    }),
  );
  await endWaitingForPairing(store, file.lotId, 1);
  await beneath((tx) => endIncoming(tx, file.sourceFileId));
}

/** Says of the cells of a lot that waited for a file whether they can be paired, in pieces. */
async function endWaitingForPairing(store: Store, lotId: number, canBePaired: 0 | 1): Promise<void> {
  const beneath = beneathOf(store);
  const waiting = await beneath(async (tx) =>
    tx.db
      .selectFrom('Cell')
      .select('id')
      .where('lotId', '=', lotId)
      .where('canBePaired', '=', pairedOnceShown)
      .execute(),
  );
  await new Pieces(200).through(waiting.length, (from, to) =>
    beneath(async (tx) => {
      await tx.db
        .updateTable('Cell')
        .set({ canBePaired })
        .where('id', 'in', numbersIn(waiting.slice(from, to).map(({ id }) => id)))
        .where('canBePaired', '=', pairedOnceShown)
        .execute();
    }),
  );
}

/** Ends the storing of a file in pieces; in a transaction. */
export async function endIncoming(tx: Store, sourceFileId: number): Promise<void> {
  await tx.db.deleteFrom('IncomingChange').where('sourceFileId', '=', sourceFileId).execute();
  await tx.db.deleteFrom('IncomingFile').where('sourceFileId', '=', sourceFileId).execute();
}

/** Removes a file that is not taken, in pieces. */
export async function removeIncoming(store: Store, file: IncomingFile): Promise<void> {
  const beneath = beneathOf(store);
  const remove = (table: 'Measurement' | 'Cell', first: number, last: number) =>
    new Pieces(100).through(last - first + 1, (from, to) =>
      beneath(async (tx) => {
        await tx.db
          .deleteFrom(table)
          .where('id', '>=', first + from)
          .where('id', '<', first + to)
          .execute();
      }),
    );
  await remove('Measurement', file.firstMeasurementId, file.lastMeasurementId);
  await remove('Cell', file.firstCellId, file.lastCellId);
  // Rows that are hidden for good are of no file that cells wait for.
  if (file.sourceFileId > 0) await endWaitingForPairing(store, file.lotId, 0);
  await beneath(async (tx) => {
    await tx.db.deleteFrom('SourceFile').where('id', '=', file.sourceFileId).execute();
    await endIncoming(tx, file.sourceFileId);
  });
}

/** Files of this process that are to be removed or settled, which could not be done: the disk was full, say. */
const leftByMe = new Set<string>();

function nameIn({ place }: Store, sourceFileId: number): string {
  return `${place.kind === 'sqlite' ? place.file : ''}:${sourceFileId}`;
}

/** Removes or settles a file as soon as that can be done; whoever finds it later does what cannot be done now. */
export async function endWhenPossible(
  store: Store,
  file: IncomingFile,
  end: 'remove' | 'settle',
): Promise<void> {
  const name = nameIn(store, file.sourceFileId);
  leftByMe.add(name);
  try {
    await (end === 'remove' ? removeIncoming : settleIncoming)(store, file);
    leftByMe.delete(name);
  } catch (error) {
    if (storageRefusal(error) === null) throw error;
  }
}

/**
 * Removes what ended processes left of files that they were storing in pieces, and rows that are hidden for good; what
 * they did not finish of files that were taken is finished.
 *
 * @param own which files of this very process are left over too: those of a batch that begins again, at a start all
 * @returns how many there were
 */
export async function sweepIncomingFiles(
  store: Store,
  own: { readonly batch: string } | 'all' | 'none',
): Promise<number> {
  if (store.beneath === null) return 0;
  const files = await store.db.selectFrom('IncomingFile').selectAll().execute();
  const left = files.filter(({ sourceFileId, storedBy, touchedAt, batch }) => {
    if (storedBy === nobody) return true;
    if (storedBy === myName && leftByMe.has(nameIn(store, sourceFileId))) return true;
    if (storedBy === myName) return own === 'all' || (own !== 'none' && own.batch === batch);
    const [host, pid] = storedBy.split(':');
    if (host !== hostname()) return Date.now() - Date.parse(touchedAt) > silentMs;
    return !isProcessAlive(Number(pid));
  });
  for (const file of left)
    await (file.shown === 0 ? removeIncoming(store, file) : settleIncoming(store, file));
  return left.length;
}
