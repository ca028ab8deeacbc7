import type { Attachment } from '../contract/cells.ts';
import type { Store } from './store.ts';

/** What a note or picture is kept with. */
export type AttachmentSubject = { readonly cellId: number } | { readonly stackId: number };

function subjectColumn(subject: AttachmentSubject): ['cellId' | 'stackId', number] {
  return 'cellId' in subject ? ['cellId', subject.cellId] : ['stackId', subject.stackId];
}

/** Notes and pictures of a subject, newest first, without the pictures' bytes. */
export async function listAttachments(store: Store, subject: AttachmentSubject): Promise<Attachment[]> {
  const [column, id] = subjectColumn(subject);
  return store.all<Attachment>(
    `SELECT id, name, mediaType, text, COALESCE(length(data), length(CAST(text AS BLOB)), 0) AS bytes, createdAt, createdBy
     FROM Attachment WHERE ${column} = ? ORDER BY id DESC`,
    id,
  );
}

export interface NewAttachment {
  readonly name: string;
  readonly mediaType: string;
  readonly text: string | null;
  readonly data: Uint8Array | null;
  readonly createdAt: string;
  readonly createdBy: string;
}

export async function insertAttachment(
  store: Store,
  subject: AttachmentSubject,
  attachment: NewAttachment,
): Promise<number> {
  const [column, id] = subjectColumn(subject);
  return (
    await store.run(
      `INSERT INTO Attachment (${column}, name, mediaType, text, data, createdAt, createdBy) VALUES (?, ?, ?, ?, ?, ?, ?)`,
      id,
      attachment.name,
      attachment.mediaType,
      attachment.text,
      attachment.data,
      attachment.createdAt,
      attachment.createdBy,
    )
  ).id;
}

/** A picture's bytes. */
export async function readAttachment(
  store: Store,
  id: number,
): Promise<{ name: string; mediaType: string; data: Uint8Array } | null> {
  return (
    (await store.get<{ name: string; mediaType: string; data: Uint8Array }>(
      'SELECT name, mediaType, data FROM Attachment WHERE id = ? AND data IS NOT NULL',
      id,
    )) ?? null
  );
}
