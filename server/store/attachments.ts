import type { Attachment } from '../contract/cells.ts';
import { bytesOf } from './differences.ts';
import type { Store } from './store.ts';

/** What a note or picture is kept with. */
export type AttachmentSubject = { readonly cellId: number } | { readonly stackId: number };

/** Results of a traveller, which are no note: they are read as a document. */
export const travellerType = 'application/json';

/** The results of travellers that are kept with a stack, newest first. */
export async function listTravellers(
  store: Store,
  stackId: number,
): Promise<{ id: number; text: string; createdAt: string; createdBy: string }[]> {
  return store.db
    .selectFrom('Attachment')
    .select(['id', 'text', 'createdAt', 'createdBy'])
    .where('stackId', '=', stackId)
    .where('mediaType', '=', travellerType)
    .where('text', 'is not', null)
    .$narrowType<{ text: string }>()
    .orderBy('id', 'desc')
    .execute();
}

/** Notes and pictures of a subject, newest first, without the pictures' bytes. */
export async function listAttachments(store: Store, subject: AttachmentSubject): Promise<Attachment[]> {
  return store.db
    .selectFrom('Attachment')
    .select(['id', 'name', 'mediaType', 'text', 'createdAt', 'createdBy'])
    .select(({ fn, ref, val }) =>
      fn
        .coalesce(bytesOf(ref('data')), bytesOf(ref('text')), val(0))
        .$notNull()
        .as('bytes'),
    )
    .$call((query) =>
      'cellId' in subject
        ? query.where('cellId', '=', subject.cellId)
        : query.where('stackId', '=', subject.stackId),
    )
    .where('mediaType', '<>', travellerType)
    .orderBy('id', 'desc')
    .execute();
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
  const { id } = await store.db
    .insertInto('Attachment')
    .values({ ...subject, ...attachment })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** A picture's bytes. */
export async function readAttachment(
  store: Store,
  id: number,
): Promise<{ name: string; mediaType: string; data: Uint8Array } | null> {
  const row = await store.db
    .selectFrom('Attachment')
    .select(['name', 'mediaType', 'data'])
    .where('id', '=', id)
    .where('data', 'is not', null)
    .$narrowType<{ data: Uint8Array }>()
    .executeTakeFirst();
  return row ?? null;
}
