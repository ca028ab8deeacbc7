import type { z } from 'zod';
import type { ErrorPlace } from './errors.ts';

/** Every field that a schema found wrong, with the value that was given. */
export function wrongFields(error: z.ZodError, given: unknown, whole: string): ErrorPlace[] {
  return error.issues.map((issue) => ({
    field: issue.path.length > 0 ? issue.path.join('.') : whole,
    row: null,
    value: valueAt(given, issue.path),
    reason: issue.message,
    expected: null,
  }));
}

function valueAt(given: unknown, path: readonly PropertyKey[]): string | null {
  let here = given;
  for (const step of path) {
    if (typeof here !== 'object' || here === null) return null;
    here = (here as Record<PropertyKey, unknown>)[step];
  }
  return here === undefined ? null : (JSON.stringify(here) ?? '').slice(0, 120);
}
