import { z } from 'zod';
import type { ErrorPlace } from './errors.ts';

type Issue = z.core.$ZodIssue;

/** Of thousands of wrong entries only the first ones are reported. */
const mostPlaces = 100;
const mostInSentence = 5;

/**
 * Every field that a schema found wrong (the first hundred), with the value that was given and what would be right.
 *
 * @param whole what the document is called where it is wrong as a whole
 * @param schema names the fields there are, where an unknown one was given
 */
export function wrongFields(
  error: z.ZodError,
  given: unknown,
  whole: string,
  schema?: z.ZodType,
): ErrorPlace[] {
  return error.issues
    .slice(0, mostPlaces)
    .flatMap((issue) => placesOf(issue, [], given, whole, schema))
    .slice(0, mostPlaces);
}

/** The places of a refusal in one sentence. */
export function sentenceOf(places: readonly ErrorPlace[]): string {
  const told = places
    .slice(0, mostInSentence)
    .map(
      ({ field, reason, expected }) =>
        `${field} ${reason}${expected === null ? '' : ` (right: ${expected})`}`,
    );
  const more = places.length - told.length;
  return [...told, ...(more > 0 ? [`and ${more} more`] : [])].join('; ');
}

function placesOf(
  issue: Issue,
  before: readonly PropertyKey[],
  given: unknown,
  whole: string,
  schema: z.ZodType | undefined,
): ErrorPlace[] {
  const path = [...before, ...issue.path];
  if (issue.code === 'unrecognized_keys') {
    const known = fieldsAt(schema, path);
    return issue.keys.map((key) => unknownField([...path, key], given, known));
  }
  // Of several forms a value may have, the one with the fewest faults is what was meant.
  if (issue.code === 'invalid_union' && issue.errors.length > 0) {
    const [meant] = [...issue.errors].sort((a, b) => a.length - b.length);
    return meant.flatMap((inner) => placesOf(inner, path, given, whole, schema));
  }
  const value = valueAt(given, path);
  const { reason, expected } = explain(issue, value);
  return [{ field: path.length > 0 ? path.join('.') : whole, row: null, value, reason, expected }];
}

/** The place of a field that is not known, with the fields there are. */
export function unknownField(
  path: readonly PropertyKey[],
  given: unknown,
  known: readonly string[],
): ErrorPlace {
  return {
    field: path.join('.'),
    row: null,
    value: valueAt(given, path),
    reason: 'is not known here',
    expected: known.length === 0 ? null : `one of: ${known.join(', ')}`,
  };
}

interface Explanation {
  readonly reason: string;
  readonly expected: string | null;
}

const names: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  string: 'text',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a list',
  object: 'an object',
  record: 'an object',
};

const forms: Readonly<Record<string, string>> = {
  datetime: 'an instant in UTC such as 2026-02-01T08:00:00Z',
  date: 'a day such as 2026-02-01',
};

/** A schema's own words where it has some, else plain ones for what the library found. */
function explain(issue: Issue, value: string | null): Explanation {
  if (!/^(Invalid|Too small|Too big|Unrecognized)/.test(issue.message))
    return { reason: issue.message, expected: null };
  switch (issue.code) {
    case 'invalid_type': {
      const expected = names[issue.expected] ?? issue.expected;
      return { reason: value === null ? 'is missing' : `is not ${expected}`, expected };
    }
    case 'too_small':
      return {
        reason: 'is too small',
        expected: bound(issue.origin, issue.inclusive ? 'at least' : 'above', issue.minimum),
      };
    case 'too_big':
      return {
        reason: 'is too large',
        expected: bound(issue.origin, issue.inclusive ? 'at most' : 'below', issue.maximum),
      };
    case 'invalid_value':
      return {
        reason: value === null ? 'is missing' : 'is none of the possible values',
        expected: `one of: ${issue.values.map(String).join(', ')}`,
      };
    case 'invalid_format':
      return { reason: 'has not the right form', expected: forms[issue.format] ?? null };
    case 'not_multiple_of':
      return { reason: 'is not a multiple', expected: `a multiple of ${issue.divisor}` };
    default:
      return { reason: 'fits none of the forms there are', expected: null };
  }
}

function bound(origin: string, word: string, limit: number | bigint): string {
  if (origin === 'string') return `${word} ${limit} ${limit === 1 ? 'character' : 'characters'}`;
  if (origin === 'array') return `${word} ${limit} ${limit === 1 ? 'entry' : 'entries'}`;
  return `${word} ${limit}`;
}

/** Names of the fields an object may have at a place of a schema; none where the schema does not say. */
export function fieldsAt(schema: z.ZodType | undefined, path: readonly PropertyKey[]): string[] {
  let here: unknown = schema;
  for (const step of [...path, null]) {
    while (
      here instanceof z.ZodOptional ||
      here instanceof z.ZodNullable ||
      here instanceof z.ZodDefault ||
      here instanceof z.ZodPrefault
    )
      here = here.unwrap();
    if (here instanceof z.ZodObject) {
      if (step === null) return Object.keys(here.shape);
      here = here.shape[String(step)];
    } else if (here instanceof z.ZodArray && step !== null) here = here.element;
    else return [];
  }
  return [];
}

function valueAt(given: unknown, path: readonly PropertyKey[]): string | null {
  let here = given;
  for (const step of path) {
    if (typeof here !== 'object' || here === null) return null;
    here = (here as Record<PropertyKey, unknown>)[step];
  }
  if (here === undefined) return null;
  try {
    return (JSON.stringify(here) ?? '').slice(0, 120);
  } catch (error) {
    // Nested deeper than the language itself can follow; the place says enough.
    if (error instanceof RangeError) return '…';
    throw error;
  }
}
