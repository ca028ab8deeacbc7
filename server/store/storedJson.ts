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
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw unreadable(thing, error instanceof Error ? error.message : String(error));
  }
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  throw unreadable(thing, z.prettifyError(parsed.error));
}

function unreadable(thing: string, reason: string): Refusal {
  return new Refusal(
    'storage-damaged',
    `The stored ${thing} cannot be read: ${reason}. Nothing was changed.`,
  );
}
