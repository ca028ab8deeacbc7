import { readdirSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { SqlStore } from './store.ts';

/** Folder of the uploads that wait for their job, beside the database. */
export function uploadFolder(store: SqlStore): string {
  return join(dirname(store.file), 'uploads');
}

/**
 * Removes uploads that no job will take: what was being sent when the service ended. Jobs that failed or were cancelled
 * keep theirs, because they can be tried again. Call at start, before anything is received.
 *
 * @returns how many there were
 */
export async function sweepUploads(store: SqlStore): Promise<number> {
  const folder = uploadFolder(store);
  let names: string[];
  try {
    names = readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return 0;
    throw error;
  }
  const wanted = new Set(
    (
      await store.all<{ path: string }>(
        `SELECT json_extract(f.value, '$.path') AS path FROM Job j, json_each(j.inputJson, '$.files') f
         WHERE j.kind = 'import' AND j.state <> 'done'`,
      )
    ).map(({ path }) => path),
  );
  const left = names.map((name) => join(folder, name)).filter((path) => !wanted.has(path));
  for (const path of left) rmSync(path, { force: true });
  return left.length;
}
