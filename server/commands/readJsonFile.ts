import { readFile } from 'node:fs/promises';
import { fieldError, Refusal } from '../errors.ts';
import { unreadable } from '../import/byteSource.ts';

/**
 * Reads a JSON document; `-` is standard input.
 *
 * @param what what the document is, for a refusal: `criteria`
 * @throws RefusedFile `unreadable-file`; Refusal `invalid-request` with the place where it is not JSON
 */
export async function readJsonFile(file: string, what: string): Promise<unknown> {
  const text = await readText(file);
  try {
    return JSON.parse(text);
  } catch (error) {
    const reason = (error instanceof Error ? error.message : String(error)).replace(/\s+/g, ' ');
    throw new Refusal('invalid-request', `${file} is not valid JSON: ${reason}.`, [
      fieldError(what, file, reason, 'a JSON document'),
    ]);
  }
}

async function readText(file: string): Promise<string> {
  if (file === '-') {
    const chunks: Buffer[] = [];
    for await (const chunk of process.stdin) chunks.push(Buffer.from(chunk));
    return Buffer.concat(chunks).toString('utf8');
  }
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    throw unreadable(file, error);
  }
}
