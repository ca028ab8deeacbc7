import { basename } from 'node:path';
import { buffer } from 'node:stream/consumers';
import type { ImportReport } from '../../contract/import.ts';
import { openFile, openPieces, unreadable } from '../../import/byteSource.ts';
import { filesInZip, possibleZip } from '../../import/formats/zipFiles.ts';
import type { JobInput } from '../../jobs/inputs.ts';
import type { Store } from '../../store/store.ts';
import { readUpload, removeUpload, sizeOfUpload } from '../../store/uploads.ts';
import type { OfferedFile } from './importFile.ts';
import { importFile } from './importFile.ts';
import type { ImportContext } from './importTarget.ts';

/** What an import job is about. */
export type FilesToImport = JobInput<'import'>;

/** What an earlier run of the same import took or refused, in the order of the files, and where more is noted. */
export interface EarlierImports {
  readonly reports: readonly ImportReport[];
  /** Stores the reports so far, together with the file that the last one is about. */
  readonly note: (tx: Store, soFar: ImportReport[]) => Promise<void>;
}

const nothingEarlier: EarlierImports = { reports: [], note: async () => {} };

/** A file on this machine as it is offered to an import. */
export function fileOnDisk(path: string, name = basename(path)): OfferedFile {
  return { name, open: async () => openFile(path), rereadable: true };
}

/** The files that a file on this machine offers: itself, or those in it where it is a zip and no spreadsheet. */
export async function filesOf(path: string, name = basename(path)): Promise<OfferedFile[]> {
  return (await filesInZip(possibleZip(path), name)) ?? [fileOnDisk(path, name)];
}

/** The files that an upload in the database offers, as {@link filesOf}. */
async function filesOfUpload(store: Store, uploadId: string, name: string): Promise<OfferedFile[]> {
  const pieces = () => readUpload(store, uploadId);
  const zipped = await filesInZip(
    {
      beginning: async () => (await pieces().next()).value ?? null,
      whole: () => buffer(pieces()),
    },
    name,
  );
  const open = async () => {
    const size = await sizeOfUpload(store, uploadId);
    if (size === null) throw unreadable(name, { code: 'ENOENT' });
    return openPieces(pieces(), size);
  };
  return zipped ?? [{ name, open, rereadable: true }];
}

type FileToImport = FilesToImport['files'][number];

function offeredBy(store: Store, file: FileToImport): Promise<OfferedFile[]> {
  return 'path' in file ? filesOf(file.path, file.name) : filesOfUpload(store, file.uploadId, file.name);
}

/** Removes the copy of an upload. What cannot be removed now is removed at a later start. */
async function removeCopy(store: Store, file: FileToImport): Promise<void> {
  if ('path' in file && !file.temporary) return;
  await removeUpload(store, file).catch(() => {});
}

/**
 * Takes files one after the other, each whole or not at all; one that is refused does not stop the others.
 *
 * @param tell receives the share done and a sentence; may throw to stop: files imported by then stay
 */
export async function importFiles(
  context: ImportContext,
  input: FilesToImport,
  tell: (share: number, text: string) => void,
  earlier: EarlierImports = nothingEarlier,
): Promise<ImportReport[]> {
  const { files, options, batch } = input;
  const reports: ImportReport[] = [...earlier.reports];
  const started = performance.now();
  let rowsBefore = 0;
  const offered = (await Promise.all(files.map((file) => offeredBy(context.store, file)))).flat();
  for (const [i, file] of offered.entries()) {
    if (i < earlier.reports.length) continue;
    const report = await importFile(
      context,
      file,
      options,
      batch,
      (read, size, rows) => {
        const within = size === null || size === 0 ? 0 : Math.min(1, read / size);
        const rate = (rowsBefore + rows) / Math.max(0.001, (performance.now() - started) / 1000);
        const which = offered.length > 1 ? `file ${i + 1} of ${offered.length}, ` : '';
        tell(
          Math.min(0.999, (i + within) / offered.length),
          `${which}${rows.toLocaleString('en')} rows, ${Math.round(rate).toLocaleString('en')} rows/s`,
        );
      },
      (tx, report) => earlier.note(tx, [...reports, report]),
    );
    rowsBefore += report.rowCount;
    reports.push(report);
  }
  // Only now, so that a job that is interrupted and starts again still finds all of them.
  for (const file of files) await removeCopy(context.store, file);
  tell(1, `${reports.filter(({ state }) => state === 'taken').length} of ${offered.length} files taken`);
  return reports;
}
