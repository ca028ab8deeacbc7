import { randomUUID } from 'node:crypto';
import { createWriteStream, readdirSync, statSync } from 'node:fs';
import { mkdir, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { z } from 'zod';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

// Uploads wait for their job where everyone who runs the jobs of a database can read them: beside an SQLite file, which
// belongs to one machine, in a folder; on a server in the database itself.

/** Where an upload waits: a path in the upload folder, or an identifier in the database. */
export type KeptUpload = { readonly path: string } | { readonly uploadId: string };

/** Bytes of an upload in one row of the database. */
const pieceBytes = 1024 * 1024;

/** What an import job says of its files, as far as it matters here. */
const uploaded = z.object({
  files: z.array(z.object({ path: z.string().optional(), uploadId: z.string().optional() })),
});

/** Folder of the uploads that wait for their job, beside the database file, or in the data folder. */
export function uploadFolder(store: Store): string {
  const { place } = store;
  return join(place.kind === 'sqlite' ? dirname(place.file) : place.folder, 'uploads');
}

/**
 * Keeps an upload for its job as its bytes come in, whatever their number; it outlasts a sudden end once this returns.
 * Whoever takes it over removes it. When the bytes break off, nothing is left.
 */
export async function keepUpload(store: Store, bytes: AsyncIterable<Uint8Array>): Promise<KeptUpload> {
  if (store.place.kind === 'postgresql') return keepInDatabase(store, bytes);
  const folder = uploadFolder(store);
  await mkdir(folder, { recursive: true });
  const path = join(folder, randomUUID());
  try {
    await pipeline(bytes, createWriteStream(path, { flags: 'wx', flush: true }));
  } catch (error) {
    await rm(path, { force: true });
    throw error;
  }
  return { path };
}

async function keepInDatabase(store: Store, bytes: AsyncIterable<Uint8Array>): Promise<KeptUpload> {
  const uploadId = randomUUID();
  await store.db
    .insertInto('Upload')
    .values({ id: uploadId, receivedAt: new Date().toISOString() })
    .execute();
  try {
    let position = 0;
    for await (const data of inPieces(bytes)) {
      await store.db.insertInto('UploadPiece').values({ uploadId, position, data }).execute();
      position++;
    }
  } catch (error) {
    // What cannot be removed now is removed at a later start.
    await removeUpload(store, { uploadId }).catch(() => {});
    throw error;
  }
  return { uploadId };
}

/** The same bytes in pieces of one length, the last one shorter. */
async function* inPieces(bytes: AsyncIterable<Uint8Array>): AsyncGenerator<Buffer> {
  let waiting: Uint8Array[] = [];
  let length = 0;
  for await (const part of bytes) {
    waiting.push(part);
    length += part.length;
    if (length < pieceBytes) continue;
    const joined = Buffer.concat(waiting);
    let at = 0;
    for (; joined.length - at >= pieceBytes; at += pieceBytes) yield joined.subarray(at, at + pieceBytes);
    waiting = at < joined.length ? [joined.subarray(at)] : [];
    length = joined.length - at;
  }
  if (length > 0) yield Buffer.concat(waiting);
}

/** The number of bytes of an upload in the database; null where it is not there. */
export async function sizeOfUpload(store: Store, uploadId: string): Promise<number | null> {
  const found = await store.db
    .selectFrom('Upload')
    .select('id')
    .where('id', '=', uploadId)
    .executeTakeFirst();
  if (found === undefined) return null;
  const last = await store.db
    .selectFrom('UploadPiece')
    .select(['position', 'data'])
    .where('uploadId', '=', uploadId)
    .orderBy('position', 'desc')
    .limit(1)
    .executeTakeFirst();
  return last === undefined ? 0 : last.position * pieceBytes + last.data.length;
}

/** The bytes of an upload in the database, piece by piece. */
export async function* readUpload(store: Store, uploadId: string): AsyncGenerator<Uint8Array> {
  for (let position = 0; ; position++) {
    const piece = await store.db
      .selectFrom('UploadPiece')
      .select('data')
      .where('uploadId', '=', uploadId)
      .where('position', '=', position)
      .executeTakeFirst();
    if (piece === undefined) return;
    yield piece.data;
  }
}

/** Removes an upload that nothing will take any more, where it is still there. */
export async function removeUpload(store: Store, kept: KeptUpload): Promise<void> {
  if ('path' in kept) await rm(kept.path, { force: true });
  else await store.db.deleteFrom('Upload').where('id', '=', kept.uploadId).execute();
}

/**
 * Removes uploads that no job will take: what was being sent when the service ended. Jobs that failed or were cancelled
 * keep theirs, because they can be tried again. Call at start, before anything is received.
 *
 * @param olderThanMs younger ones stay: where other processes receive uploads too, one may still be coming in
 * @returns how many there were
 */
export async function sweepUploads(store: Store, olderThanMs = 0): Promise<number> {
  // The uploads are listed before the jobs that want them: one whose job is ordered in between is kept.
  const paths = pathsIn(uploadFolder(store));
  const before = new Date(Date.now() - olderThanMs).toISOString();
  const rows = await store.db.selectFrom('Upload').select('id').where('receivedAt', '<', before).execute();
  if (paths.length + rows.length === 0) return 0;
  const jobs = await store.db
    .selectFrom('Job')
    .select(['id', 'inputJson'])
    .where('kind', '=', 'import')
    .where('state', '<>', 'done')
    .execute();
  const wanted = new Set(
    jobs.flatMap(({ id, inputJson }) =>
      parseStored(uploaded, inputJson, `input of job ${id}`).files.map((file) => file.path ?? file.uploadId),
    ),
  );
  const left: KeptUpload[] = [
    ...paths.filter((path) => !wanted.has(path) && ageMs(path) >= olderThanMs).map((path) => ({ path })),
    ...rows.filter(({ id }) => !wanted.has(id)).map(({ id }) => ({ uploadId: id })),
  ];
  for (const upload of left) await removeUpload(store, upload);
  return left.length;
}

function pathsIn(folder: string): string[] {
  try {
    return readdirSync(folder).map((name) => join(folder, name));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}

/** Time since a file was written to; of one that is gone meanwhile none at all. */
function ageMs(path: string): number {
  return Date.now() - (statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? Number.POSITIVE_INFINITY);
}
