import { readdirSync, rmSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** What an import job says of its files, as far as it matters here. */
const uploaded = z.object({ files: z.array(z.object({ path: z.string() })) });

/** Folder of the uploads that wait for their job, beside the database file, or in the data folder. */
export function uploadFolder(store: Store): string {
  const { place } = store;
  return join(place.kind === 'sqlite' ? dirname(place.file) : place.folder, 'uploads');
}

/**
 * Removes uploads that no job will take: what was being sent when the service ended. Jobs that failed or were cancelled
 * keep theirs, because they can be tried again. Call at start, before anything is received.
 *
 * @param olderThanMs younger ones stay: where other processes receive uploads too, one may still be coming in
 * @returns how many there were
 */
export async function sweepUploads(store: Store, olderThanMs = 0): Promise<number> {
  const folder = uploadFolder(store);
  let names: string[];
  try {
    names = readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return 0;
    throw error;
  }
  const jobs = await store.db
    .selectFrom('Job')
    .select(['id', 'inputJson'])
    .where('kind', '=', 'import')
    .where('state', '<>', 'done')
    .execute();
  const wanted = new Set(
    jobs.flatMap(({ id, inputJson }) =>
      parseStored(uploaded, inputJson, `input of job ${id}`).files.map(({ path }) => path),
    ),
  );
  const left = names
    .map((name) => join(folder, name))
    .filter((path) => !wanted.has(path) && ageMs(path) >= olderThanMs);
  for (const path of left) rmSync(path, { force: true });
  return left.length;
}

/** Time since a file was written to; of one that is gone meanwhile none at all. */
function ageMs(path: string): number {
  return Date.now() - (statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? Number.POSITIVE_INFINITY);
}
