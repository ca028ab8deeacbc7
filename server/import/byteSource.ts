import { createReadStream, readSync } from 'node:fs';
import type { FileHandle } from 'node:fs/promises';
import { open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { RefusedFile } from './refusedFile.ts';

/** Bytes of a file, asked for piece by piece, so that a file of any size needs the same memory. */
export interface ByteSource {
  /** Fills `into` from `offset`; resolves to the number of bytes read, 0 at the end. */
  read(into: Uint8Array, offset: number): Promise<number>;
  /** Bytes of the file on disk (compressed ones for gzip); null where unknown. */
  readonly size: number | null;
  /** SHA-256 of the file's own bytes, where what is read was made from them; after the last read. */
  readonly digest?: () => string;
  close(): Promise<void>;
}

/** More than this much text out of one compressed byte, after the first 64 MiB, is taken for an attack. */
const maxExpansion = 250;
const expansionGrace = 64 * 1024 * 1024;

/**
 * Opens a file; gzip is recognised by its first two bytes and unpacked on the way.
 *
 * @throws RefusedFile `unreadable-file`
 */
export async function openFile(path: string): Promise<ByteSource> {
  let handle: FileHandle;
  let size: number;
  const magic = new Uint8Array(2);
  try {
    handle = await open(path, 'r');
  } catch (error) {
    throw unreadable(path, error);
  }
  try {
    const stat = await handle.stat();
    if (!stat.isFile()) throw Object.assign(new Error('not a file'), { code: 'EISDIR' });
    size = stat.size;
    await handle.read(magic, 0, 2, 0);
  } catch (error) {
    await handle.close();
    throw unreadable(path, error);
  }
  if (magic[0] === 0x1f && magic[1] === 0x8b) {
    await handle.close();
    return gunzipSource(createReadStream(path, { highWaterMark: 256 * 1024 }), size);
  }
  // Read in place: whoever imports a large file does so in a thread of its own, where waiting for the disk is cheaper
  // than handing every block through the pool of threads.
  return {
    size,
    async read(into, offset) {
      return readSync(handle.fd, into, offset, into.length - offset, null);
    },
    close: () => handle.close(),
  };
}

/**
 * Opens a file that is kept in pieces; gzip is unpacked on the way.
 *
 * @param size bytes of all pieces
 */
export async function openPieces(pieces: AsyncGenerator<Uint8Array>, size: number): Promise<ByteSource> {
  const first = await pieces.next();
  async function* whole(): AsyncGenerator<Uint8Array> {
    if (first.done === true) return;
    yield first.value;
    yield* pieces;
  }
  const stream = Readable.from(whole(), { objectMode: false });
  const packed = first.done !== true && first.value[0] === 0x1f && first.value[1] === 0x8b;
  return packed ? gunzipSource(stream, size) : streamSource(stream, size);
}

/** Bytes that come out of a stream, for instance of an upload. */
export function streamSource(stream: Readable, size: number | null = null): ByteSource {
  const pieces = stream[Symbol.asyncIterator]();
  let rest: Uint8Array = new Uint8Array(0);
  return {
    size,
    async read(into, offset) {
      while (rest.length === 0) {
        const next = await pieces.next();
        if (next.done === true) return 0;
        rest = next.value as Uint8Array;
      }
      const count = Math.min(rest.length, into.length - offset);
      into.set(rest.subarray(0, count), offset);
      rest = rest.subarray(count);
      return count;
    },
    async close() {
      stream.destroy();
    },
  };
}

/** As {@link streamSource}, unpacking gzip; refuses what is damaged or expands beyond reason. */
export function gunzipSource(compressed: Readable, size: number | null = null): ByteSource {
  let bytesIn = 0;
  let bytesOut = 0;
  compressed.on('data', (piece: Uint8Array) => {
    bytesIn += piece.length;
  });
  const gunzip = createGunzip({ chunkSize: 128 * 1024 });
  compressed.on('error', (error) => gunzip.destroy(error));
  const inner = streamSource(compressed.pipe(gunzip), size);
  return {
    size,
    async read(into, offset) {
      let count: number;
      try {
        count = await inner.read(into, offset);
      } catch (error) {
        throw new RefusedFile({
          code: 'corrupt-compression',
          reason: `The gzip data is damaged or cut off (${(error as Error).message})`,
          expected: 'Compress the file again, or give it uncompressed',
        });
      }
      bytesOut += count;
      if (bytesOut > expansionGrace && bytesOut > maxExpansion * bytesIn) {
        throw new RefusedFile({
          code: 'expands-too-far',
          reason: `The compressed file expands to more than ${maxExpansion} times its size`,
          expected: 'Give the file uncompressed',
        });
      }
      return count;
    },
    async close() {
      compressed.destroy();
      await inner.close();
    },
  };
}

/** Bytes that are in memory already. */
export function bufferSource(bytes: Uint8Array): ByteSource {
  let at = 0;
  return {
    size: bytes.length,
    async read(into, offset) {
      const count = Math.min(bytes.length - at, into.length - offset);
      into.set(bytes.subarray(at, at + count), offset);
      at += count;
      return count;
    },
    async close() {},
  };
}

/** The refusal of a file that the system does not let be read. */
export function unreadable(path: string, error: unknown): RefusedFile {
  const code = (error as NodeJS.ErrnoException).code ?? 'unknown';
  const reasons: Record<string, string> = {
    ENOENT: 'There is no such file',
    EACCES: 'The file may not be read',
    EISDIR: 'This is a folder, not a file',
  };
  return new RefusedFile({
    code: 'unreadable-file',
    value: path,
    reason: reasons[code] ?? `The file cannot be read (${code})`,
    expected: 'Give the path of a readable text file',
  });
}
