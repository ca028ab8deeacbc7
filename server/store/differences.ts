import { type Expression, type RawBuilder, sql } from 'kysely';

// What SQLite says otherwise than another database would. Everything else in this folder is the query builder's.

/** The numbers of a list of any length, for `where … in`: one parameter, however many there are. */
export function numbersIn(numbers: Iterable<number>): RawBuilder<number> {
  return sql<number>`(select value from json_each(${JSON.stringify([...numbers])}))`;
}

/** Bytes that a value takes. */
export function bytesOf(value: Expression<unknown>): RawBuilder<number> {
  return sql<number>`length(${value})`;
}

/** Bytes that a text takes in UTF-8. */
export function bytesOfText(text: Expression<string | null>): RawBuilder<number | null> {
  return sql<number | null>`length(cast(${text} as blob))`;
}

/** Whether a text contains another one, whatever the case of their letters. */
export function containsText(text: Expression<string>, part: string): RawBuilder<boolean> {
  return sql<boolean>`instr(lower(${text}), lower(${part})) > 0`;
}

/** What a stored document has at a path, as text or number. */
export function atPath<Value>(document: Expression<string>, path: string): RawBuilder<Value> {
  return sql<Value>`json_extract(${document}, ${path})`;
}

/** Whether a stored document has a document of its own at a path. */
export function hasDocumentAt(document: Expression<string>, path: string): RawBuilder<boolean> {
  return sql<boolean>`json_type(${document}, ${path}) = 'object'`;
}
