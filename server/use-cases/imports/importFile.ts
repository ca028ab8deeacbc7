import { createHash } from 'node:crypto';
import type { ImportOptions, ImportReport } from '../../contract/import.ts';
import type { FileKind } from '../../contract/readingOptions.ts';
import type { ByteSource } from '../../import/byteSource.ts';
import type { TableHead } from '../../import/dialect.ts';
import { findFileKind } from '../../import/fileKind.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { openTable } from '../../import/streamRecord.ts';
import { noteColumnMapUse } from '../../store/columnMaps.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import { findImport, findTakenFile, hasTakenFileOfLength } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import type { ImportContext, ImportTarget, TakenContent } from './importTarget.ts';
import { lotOfImport } from './lotOfImport.ts';
import { nameParts } from './nameParts.ts';
import { readContent } from './readContent.ts';
import { readingOf } from './readingOf.ts';
import { keepRefusal, type NoteReport, TakenBefore, takeFile } from './takeFile.ts';
import { isForPieces, takeInPieces } from './takeInPieces.ts';
import type { TakenFile } from './takenFile.ts';
import { WholeCells, withOtherCells } from './wholeCells.ts';

/** A file that is offered: its name, and how to get at its bytes. `open` may be called twice. */
export interface OfferedFile {
  readonly name: string;
  readonly open: () => Promise<ByteSource>;
  /** False where the bytes can be had once only, as those of an upload. */
  readonly rereadable: boolean;
}

/** Called now and then with bytes read, bytes in all (null: unknown) and rows; may throw to stop the import. */
export type ImportProgress = (bytesRead: number, bytes: number | null, rows: number) => void;

/**
 * Takes one file whole or not at all. A file that is refused leaves its report, which says where and why.
 *
 * @param note is called in the transaction that stores the report
 * @throws Refusal where the request is wrong (no such lot) or the storage fails; nothing of the file is there then
 */
export async function importFile(
  context: ImportContext,
  file: OfferedFile,
  asked: ImportOptions,
  batch: string,
  onProgress: ImportProgress = () => {},
  note: NoteReport = async () => {},
): Promise<ImportReport> {
  const { store } = context;
  const options = await readingOf(store, asked);
  const lot = await lotOfImport(store, options);
  const at = context.now().toISOString();
  const progress = { bytes: 0 };
  let kind: FileKind | null = options.kind ?? null;
  let source: ByteSource | null = null;
  let head: TableHead | null = null;
  try {
    source = await file.open();
    const size = source.size;
    const target: ImportTarget = {
      context,
      options,
      name: file.name,
      lotId: lot.id,
      limits: await findPlausibleLimits(store, lot.id),
      at,
      looking: false,
      fromName: await nameParts(store, file.name, options.namePattern),
      onProgress: (bytesRead, rows) => {
        progress.bytes = bytesRead;
        onProgress(bytesRead, size, rows);
      },
    };
    if (file.rereadable && options.again !== true) await refuseKnownBytes(store, file, size);
    const opened = await openTable(source, options);
    head = opened.head;
    kind = options.kind ?? findFileKind(opened.head, options.columns);
    const content = await readTaken(target, file, opened, kind);
    try {
      const same = options.again === true ? await findSameBytes(store, content, true) : null;
      if (same !== null) throw same;
      if (asked.columnMap !== undefined) await noteColumnMapUse(store, asked.columnMap, at);
      const taken: TakenFile = {
        ...content,
        name: file.name,
        lotId: lot.id,
        at,
        by: context.actor.name,
        batch,
        again: options.again === true,
      };
      const take = isForPieces(store, taken) ? takeInPieces : takeFile;
      return await take(store, taken, note, () => onProgress(progress.bytes, size, taken.rowCount));
    } catch (error) {
      await content.drop();
      throw error;
    }
  } catch (error) {
    const own = error instanceof TakenBefore ? await takenInThisBatch(store, error, file.name, batch) : null;
    if (own !== null) {
      await store.transaction((tx) => note(tx, own));
      return own;
    }
    const known = asRefusedFile(error);
    if (known === null) throw error;
    const refused = head === null ? known : withOtherCells(known, head, options);
    const report = refusedReport(file.name, kind, progress.bytes, refused);
    return await keepRefusal(
      store,
      {
        name: file.name,
        bytes: source?.size ?? progress.bytes,
        lotId: lot.id,
        at,
        by: context.actor.name,
        batch,
        report,
      },
      note,
    );
  } finally {
    await source?.close();
  }
}

/** The content of a file; where cells are taken one by one, of those whose rows are all right. */
async function readTaken(
  target: ImportTarget,
  file: OfferedFile,
  opened: OpenedTable,
  kind: FileKind | null,
): Promise<TakenContent> {
  if (target.options.wholeCells !== true || !file.rereadable) return readContent(target, opened, kind);
  const cells = new WholeCells(file.open, target.options);
  let now = opened;
  let source: ByteSource | null = null;
  try {
    for (;;) {
      try {
        const content = await readContent(target, now, kind);
        const taken = [...new Set([...content.tests, ...content.measurements].map(({ serial }) => serial))];
        const warning = `${cells.count} of ${cells.count + taken.length} cells were refused, each by its own row`;
        return {
          ...content,
          report: {
            ...content.report,
            cellReports: cells.reports(taken),
            warnings: cells.count === 0 ? content.report.warnings : [...content.report.warnings, warning],
          },
        };
      } catch (error) {
        if (!(error instanceof RefusedFile) || !(await cells.note(error, opened.head))) throw error;
      }
      await source?.close();
      source = await file.open();
      now = await openTable(source, target.options, cells.filter(opened.head));
    }
  } finally {
    await source?.close();
  }
}

/**
 * The file of the same bytes that stands against taking them: any that was taken, or where they are to be taken again, one
 * that was taken for one of the same cells. Null where there is none.
 */
export async function findSameBytes(
  store: Store,
  { sha256, tests, measurements }: Pick<TakenContent, 'sha256' | 'tests' | 'measurements'>,
  again: boolean,
): Promise<TakenBefore | null> {
  const before = await findTakenFile(store, sha256);
  if (before === null) return null;
  const had = again ? new Set((await findImport(store, before.id))?.cells) : null;
  const stands = had === null || [...tests, ...measurements].some(({ serial }) => had.has(serial));
  return stands ? new TakenBefore(before) : null;
}

/**
 * A file of the same length as one that was taken is hashed before it is read: hashing is several times quicker, and
 * sending the same folder again is common.
 */
async function refuseKnownBytes(store: Store, file: OfferedFile, size: number | null): Promise<void> {
  if (size === null) return;
  if (!(await hasTakenFileOfLength(store, size))) return;
  const hash = createHash('sha256');
  const buffer = new Uint8Array(1024 * 1024);
  const source = await file.open();
  try {
    for (;;) {
      const count = await source.read(buffer, 0);
      if (count === 0) break;
      hash.update(buffer.subarray(0, count));
    }
  } finally {
    await source.close();
  }
  const known = await findTakenFile(store, hash.digest('hex'));
  if (known !== null) throw new TakenBefore(known);
}

/** A job that starts again after a crash meets the files it took before; they are its own, not repetitions. */
async function takenInThisBatch(
  store: Store,
  before: TakenBefore,
  name: string,
  batch: string,
): Promise<ImportReport | null> {
  const known = await findImport(store, before.fileId);
  if (known === null || known.batch !== batch || known.fileName !== name) return null;
  const { batch: _batch, importedAt: _at, importedBy: _by, ...report } = known;
  return report;
}

function asRefusedFile(error: unknown): RefusedFile | null {
  if (error instanceof RefusedFile) return error;
  return error instanceof TakenBefore ? refusedAsTaken(error) : null;
}

/** The refusal of bytes that were taken before. */
export function refusedAsTaken({ fileName, importedAt }: Pick<TakenBefore, 'fileName' | 'importedAt'>) {
  return new RefusedFile({
    code: 'duplicate-file',
    value: fileName,
    reason: `The same bytes were taken before, as "${fileName}" on ${importedAt}`,
    expected:
      'Nothing needs to be done where it is the same cell; for another cell say --again with --cell SERIAL, and to ' +
      'take the file once more for the same cell undo that import first',
  });
}

function refusedReport(
  name: string,
  kind: FileKind | null,
  bytes: number,
  refused: RefusedFile,
): ImportReport {
  return {
    sourceFileId: null,
    fileName: name,
    state: 'refused',
    kind,
    sha256: null,
    bytes,
    rowCount: 0,
    dialect: null,
    mapping: [],
    unusedColumns: [],
    preamble: [],
    runs: [],
    cells: [],
    cellsCreated: 0,
    measurementsCreated: 0,
    stackLogId: null,
    cellReports: [],
    warnings: [],
    refusal: refused.refusal,
  };
}
