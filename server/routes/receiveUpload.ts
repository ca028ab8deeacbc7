import { createHash } from 'node:crypto';
import { type Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import busboy from 'busboy';
import type { Request } from 'express';
import { readConfig } from '../config.ts';
import type { Context } from '../context.ts';
import { fieldError, Refusal } from '../errors.ts';
import type { Store } from '../store/store.ts';
import { type KeptUpload, keepUpload, removeUpload } from '../store/uploads.ts';

/** An upload that is kept; whoever takes it over removes it. */
export interface ReceivedFile {
  readonly name: string;
  readonly kept: KeptUpload;
  /** SHA-256 of the bytes. */
  readonly hash: string;
}

/** Files of a request and, of a form, its `options` field. */
export interface ReceivedUpload {
  readonly files: readonly ReceivedFile[];
  readonly options: string | null;
}

/**
 * Keeps the files of a request for their job as they come in, whatever their size: a form
 * (multipart/form-data) with any number of files, or one file as the body. Compressed bodies stay compressed.
 *
 * @throws Refusal `too-large`, `invalid-request`; nothing is left then
 */
export async function receiveUpload(
  context: Context,
  request: Request,
  fileName: string | undefined,
): Promise<ReceivedUpload> {
  const files: ReceivedFile[] = [];
  let begun = 0;
  const write = async (stream: Readable, name: string): Promise<void> => {
    // Files keep the order they were sent in, whichever is whole first.
    const place = begun++;
    const counted = limitBytes(readConfig().uploadLimitBytes);
    const kept = await pipeline(stream, counted.stream, (bytes: AsyncIterable<Uint8Array>) =>
      keepUpload(context.store, bytes),
    );
    files[place] = { name: name.slice(0, 300), kept, hash: counted.hash() };
  };
  try {
    if ((request.get('Content-Type') ?? '').toLowerCase().startsWith('multipart/form-data')) {
      return { files, options: await receiveForm(request, write) };
    }
    await write(request, fileName ?? 'upload.csv');
    return { files, options: null };
  } catch (error) {
    await removeReceived(context.store, files);
    throw error;
  }
}

/** Removes uploads that nothing will take. */
export async function removeReceived(store: Store, files: readonly ReceivedFile[]): Promise<void> {
  // A failed upload leaves gaps where its files would be.
  await Promise.all(files.filter(Boolean).map(({ kept }) => removeUpload(store, kept)));
}

async function receiveForm(
  request: Request,
  write: (stream: Readable, name: string) => Promise<void>,
): Promise<string | null> {
  let options: string | null = null;
  const writes: Promise<void>[] = [];
  await new Promise<void>((resolve, reject) => {
    let form: busboy.Busboy;
    try {
      form = busboy({ headers: request.headers, limits: { fieldSize: 64 * 1024, fields: 20, files: 1000 } });
    } catch (error) {
      reject(brokenForm(error));
      return;
    }
    form.on('field', (name, value) => {
      if (name === 'options') options = value;
    });
    form.on('file', (_field, stream, info) => {
      const written = write(stream, info.filename ?? 'upload.csv');
      writes.push(written);
      written.catch((error: unknown) => {
        request.unpipe(form);
        reject(error);
      });
    });
    form.on('close', resolve);
    form.on('error', (error) => reject(brokenForm(error)));
    request.on('aborted', () => reject(brokenForm(new Error('the connection ended'))));
    request.pipe(form);
  });
  await Promise.all(writes);
  if (writes.length === 0) {
    throw new Refusal('invalid-request', 'The form has no file.', [
      fieldError('file', undefined, 'is missing', 'at least one file in the form'),
    ]);
  }
  return options;
}

function brokenForm(error: unknown): Refusal {
  const reason = error instanceof Error ? error.message : String(error);
  return new Refusal('invalid-request', `The form cannot be read: ${reason}.`);
}

function limitBytes(limit: number): { stream: Transform; hash: () => string } {
  let bytes = 0;
  const hash = createHash('sha256');
  const stream = new Transform({
    transform(piece: Buffer, _encoding, done) {
      bytes += piece.length;
      if (bytes > limit)
        done(new Refusal('too-large', `An upload has at most ${Math.round(limit / 1048576)} MiB.`));
      else {
        hash.update(piece);
        done(null, piece);
      }
    },
  });
  return { stream, hash: () => hash.digest('hex') };
}
