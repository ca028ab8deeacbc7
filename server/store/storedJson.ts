import { z } from 'zod';
import { Refusal } from '../errors.ts';

/**
 * A stored document as its schema reads it.
 *
 * @param thing what the document is and belongs to, e.g. `report of import 12`
 * @throws Refusal `storage-damaged` naming the thing where it cannot be read
 */
export function parseStored<Schema extends z.ZodType>(
  schema: Schema,
  text: string,
  thing: string,
): z.output<Schema> {
  const read = readStored(schema, text);
  if (read.reason !== null) throw unreadable(thing, read.reason);
  return read.data;
}

/** The same for those who go on without it: the document, or why it cannot be read. */
export function readStored<Schema extends z.ZodType>(
  schema: Schema,
  text: string,
):
  | { readonly data: z.output<Schema>; readonly reason: null }
  | { readonly data: null; readonly reason: string } {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    return { data: null, reason: error instanceof Error ? error.message : String(error) };
  }
  const parsed = schema.safeParse(value);
  return parsed.success
    ? { data: parsed.data, reason: null }
    : { data: null, reason: z.prettifyError(parsed.error) };
}

/** What says that a stored document cannot be read. */
export function unreadable(thing: string, reason: string): Refusal {
  return new Refusal(
    'storage-damaged',
    `The stored ${thing} cannot be read: ${reason}. Nothing was changed.`,
  );
}
