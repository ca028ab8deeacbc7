import { open, readFile } from 'node:fs/promises';
import { Readable } from 'node:stream';
import type { Entry } from 'yauzl';
import type { ByteSource } from '../byteSource.ts';
import { gunzipSource, streamSource } from '../byteSource.ts';
import { openZip, unpacked } from './spreadsheet.ts';

/** Ends of names of files in a zip that are offered; others (pictures, notes of an export) are left where they are. */
const offeredEnds = /\.((csv|tsv|txt|dat)(\.gz)?|xlsx|parquet)$/i;

/** One file of a zip, to be opened as often as it is needed. */
export interface ZippedFile {
  readonly name: string;
  readonly rereadable: true;
  readonly open: () => Promise<ByteSource>;
}

/** A file that may be a zip, wherever it is kept. */
export interface PossibleZip {
  /** Its first four bytes or more; null where it cannot be read. */
  beginning(): Promise<Uint8Array | null>;
  whole(): Promise<Buffer>;
}

/**
 * The files of a zip in their order; null where the file is not a zip, or is a spreadsheet.
 *
 * @throws RefusedFile `corrupt-compression`
 */
export async function filesInZip(file: PossibleZip, name: string): Promise<ZippedFile[] | null> {
  const beginning = await file.beginning();
  if (!(beginning !== null && Buffer.from(beginning).toString('latin1', 0, 4) === 'PK\x03\x04')) return null;
  const bytes = await file.whole();
  const entries = await entriesOf(bytes);
  if (entries.some(({ fileName }) => fileName === 'xl/workbook.xml')) return null;
  return entries
    .filter(({ fileName }) => offeredEnds.test(fileName) && !/(^|\/)(\.|__MACOSX)/.test(fileName))
    .map((entry) => ({
      name: `${name}/${entry.fileName}`,
      rereadable: true,
      open: async () => {
        const stream = Readable.from(unpacked(await openZip(bytes), entry));
        return /\.gz$/i.test(entry.fileName)
          ? gunzipSource(stream)
          : streamSource(stream, entry.uncompressedSize);
      },
    }));
}

async function entriesOf(bytes: Buffer): Promise<Entry[]> {
  const zip = await openZip(bytes);
  const entries: Entry[] = [];
  for await (const entry of zip.eachEntry()) entries.push(entry);
  return entries;
}

/** A file on this machine. */
export function possibleZip(path: string): PossibleZip {
  return {
    beginning: async () => {
      const magic = Buffer.alloc(4);
      const handle = await open(path, 'r').catch(() => null);
      if (handle === null) return null;
      try {
        await handle.read(magic, 0, 4, 0);
      } finally {
        await handle.close();
      }
      return magic;
    },
    whole: () => readFile(path),
  };
}
