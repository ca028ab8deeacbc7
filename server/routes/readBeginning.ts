import { Readable } from 'node:stream';
import { finished } from 'node:stream/promises';
import { createGunzip } from 'node:zlib';
import type { Request } from 'express';
import { fieldError, Refusal } from '../errors.ts';
import { needsWholeFile } from '../import/formats/textSource.ts';

/** Enough of a file to see what it is. */
const previewBytes = 4 * 1024 * 1024;
/** Spreadsheets and Parquet files are read whole. */
const wholePreviewBytes = 64 * 1024 * 1024;

/** The first bytes of a body, unpacked where they are gzip; the rest of the body is let go unread. */
export async function readBeginning(request: Request): Promise<{ bytes: Buffer; whole: boolean }> {
  // A loop over the request would destroy it, and the answer with it, when it is left early.
  const body: AsyncIterator<Buffer> = request.iterator({ destroyOnReturn: false });
  const first = await body.next();
  async function* pieces(): AsyncGenerator<Buffer> {
    for (let next = first; !next.done; next = await body.next()) yield next.value;
  }
  try {
    if (first.done) return { bytes: Buffer.alloc(0), whole: true };
    const packed = first.value[0] === 0x1f && first.value[1] === 0x8b;
    return await readUpTo(packed ? Readable.from(pieces()).pipe(createGunzip()) : pieces());
  } finally {
    // What reads piece by piece keeps the body from flowing on until it is given back.
    await body.return?.();
    request.resume();
    await sent(request);
  }
}

/** A client is given this long to send the rest of a body before it is answered, ms. */
const restMs = 2_000;

/** Waits until the body has come or its client has had its time: one that is answered while it sends may be cut off. */
async function sent(request: Request): Promise<void> {
  try {
    await finished(request, { writable: false, signal: AbortSignal.timeout(restMs) });
  } catch {
    // Ended early or still sending: the answer is the same.
  }
}

async function readUpTo(stream: AsyncIterable<Buffer>): Promise<{ bytes: Buffer; whole: boolean }> {
  const pieces: Buffer[] = [];
  let length = 0;
  try {
    for await (const piece of stream) {
      pieces.push(piece);
      length += piece.length;
      const enough = needsWholeFile(pieces[0]) ? wholePreviewBytes : previewBytes;
      if (length >= enough) return { bytes: Buffer.concat(pieces), whole: false };
    }
  } catch (error) {
    // The beginning of a compressed file ends in the middle of its data: what was unpacked is what can be shown.
    if (length === 0) throw unreadable(error);
    return { bytes: Buffer.concat(pieces), whole: false };
  }
  return { bytes: Buffer.concat(pieces), whole: true };
}

function unreadable(error: unknown): Refusal {
  return new Refusal('file-refused', 'The file cannot be unpacked.', [
    fieldError(
      'body',
      null,
      error instanceof Error ? error.message : String(error),
      'a whole gzip file or plain text',
    ),
  ]);
}
