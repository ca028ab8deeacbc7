import { createHash } from 'node:crypto';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CreateExport, ExportEntry } from '../../contract/exports.ts';
import { insertAudit } from '../../store/audit.ts';
import { insertExport } from '../../store/exports.ts';
import type { Store } from '../../store/store.ts';
import { type WrittenExport, writeExport } from './writeExport.ts';

/** Is called in the transaction that records an export. */
type NoteExport = (tx: Store, exportId: number, written: WrittenExport) => Promise<void>;

/** Writes an export and records it: who, what, when, and the hash of the bytes. */
export async function createExport(
  context: Context,
  request: CreateExport,
  note?: NoteExport,
): Promise<ExportEntry> {
  return recordExport(context, request, await writeExport(context, request), note);
}

/** Records that a written export was downloaded, with its bytes. */
export async function recordExport(
  context: Context,
  request: CreateExport,
  written: WrittenExport,
  note: NoteExport = async () => {},
): Promise<ExportEntry> {
  const { fileName, mediaType, data } = written;
  const entry = {
    format: request.format,
    subjectKind: request.subjectKind,
    subjectId: request.subjectId,
    fileName,
    mediaType,
    sha256: createHash('sha256').update(data).digest('hex'),
    createdAt: nowText(context),
    createdBy: context.actor.name,
  };
  const id = await inTransaction(context, async (context) => {
    const made = await insertExport(context.store, entry, data);
    await insertAudit(context.store, {
      at: entry.createdAt,
      actor: entry.createdBy,
      action: `${request.subjectKind}.exported`,
      subjectKind: request.subjectKind,
      subjectId: request.subjectId,
      detail: { exportId: made, format: request.format, sha256: entry.sha256 },
    });
    await note(context.store, made, written);
    return made;
  });
  return { ...entry, id, bytes: data.length };
}
