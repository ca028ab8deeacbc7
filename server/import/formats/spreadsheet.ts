import { type Entry, fromBufferPromise, type ZipFile } from 'yauzl';
import { RefusedFile } from '../refusedFile.ts';
import { linesSource } from './linesSource.ts';
import { readSheetRows, readWorkbook } from './sheetRows.ts';
import type { TextSource } from './textSource.ts';

/** More than this out of one packed byte, after the first 64 MiB, is taken for an attack. */
const maxExpansion = 250;
const expansionGrace = 64 * 1024 * 1024;

/**
 * The rows of one sheet of an .xlsx workbook (ECMA-376) as lines with tabs, read in a stream; the line is the row of the
 * sheet. Cells formatted as dates are written as instants.
 *
 * @param sheet name of the sheet; the first one where left out
 * @throws RefusedFile `unknown-format` for other zip files, `unknown-sheet`, `corrupt-compression`
 */
export async function spreadsheetText(bytes: Buffer, sheet?: string): Promise<TextSource> {
  const zip = await openZip(bytes);
  const entries = new Map<string, Entry>();
  for await (const entry of zip.eachEntry()) entries.set(entry.fileName, entry);
  if (!entries.has('xl/workbook.xml'))
    throw new RefusedFile({
      code: 'unknown-format',
      reason: 'This zip file is not a spreadsheet',
      expected: 'Import it by its name with .zip, so that the files in it are taken one by one',
    });
  const open = (name: string): Promise<AsyncIterable<Buffer>> => openEntry(zip, entries, name);
  const workbook = await readWorkbook(open, [...entries.keys()]);
  const chosen =
    sheet === undefined ? workbook.sheets[0] : workbook.sheets.find(({ name }) => sameName(name, sheet));
  if (chosen === undefined)
    throw new RefusedFile({
      code: 'unknown-sheet',
      value: sheet ?? null,
      reason: 'The workbook has no such sheet',
      expected: `Its sheets are ${workbook.sheets.map(({ name }) => `"${name}"`).join(', ')}; choose one with --sheet NAME`,
    });
  const others = workbook.sheets.filter((one) => one !== chosen).map(({ name }) => `"${name}"`);
  const notes =
    sheet === undefined && others.length > 0
      ? [`sheet "${chosen.name}" was taken, the first one; the others are ${others.join(', ')}`]
      : [];
  return { source: linesSource(bytes, readSheetRows(open, chosen.path, workbook)), encoding: null, notes };
}

function sameName(a: string, b: string): boolean {
  return a.trim().toLowerCase() === b.trim().toLowerCase();
}

/** A zip file in memory. @throws RefusedFile `corrupt-compression` */
export async function openZip(bytes: Buffer): Promise<ZipFile> {
  try {
    return await fromBufferPromise(bytes, {
      lazyEntries: true,
      decodeStrings: true,
      validateEntrySizes: true,
    });
  } catch (error) {
    throw damaged(error as Error);
  }
}

async function openEntry(
  zip: ZipFile,
  entries: ReadonlyMap<string, Entry>,
  name: string,
): Promise<AsyncIterable<Buffer>> {
  const entry = entries.get(name);
  if (entry === undefined) throw damaged(new Error(`${name} is missing`));
  return unpacked(zip, entry);
}

/** The bytes of one file of a zip, with an eye on how far they expand. @throws RefusedFile */
export async function* unpacked(zip: ZipFile, entry: Entry): AsyncGenerator<Buffer> {
  let length = 0;
  try {
    const stream = await zip.openReadStreamPromise(entry);
    for await (const piece of stream) {
      length += (piece as Buffer).length;
      if (length > expansionGrace && length > maxExpansion * entry.compressedSize)
        throw new RefusedFile({
          code: 'expands-too-far',
          reason: `A part of the zip file expands to more than ${maxExpansion} times its size`,
          expected: 'Give the file uncompressed',
        });
      yield piece as Buffer;
    }
  } catch (error) {
    throw error instanceof RefusedFile ? error : damaged(error as Error);
  }
}

function damaged(error: Error): RefusedFile {
  return new RefusedFile({
    code: 'corrupt-compression',
    reason: `The zip data of the file is damaged or cut off (${error.message.slice(0, 120)})`,
    expected: 'Save the file again, or export CSV text',
  });
}
