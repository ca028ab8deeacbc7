import { existsSync, readdirSync } from 'node:fs';
import type { Store } from '../../server/store/store.ts';
import { uploadFolder } from '../../server/store/uploads.ts';
import { selectAll } from './sql.ts';

/** The uploads that wait for their job, in the upload folder or in the database; and that no piece belongs to none. */
export async function waitingUploads(store: Store): Promise<string[]> {
  const folder = uploadFolder(store);
  const rows = await selectAll<{ id: string }>(
    store,
    'SELECT id FROM Upload UNION SELECT uploadId AS id FROM UploadPiece',
  );
  return [...(existsSync(folder) ? readdirSync(folder) : []), ...rows.map(({ id }) => id)];
}
