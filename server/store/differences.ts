import {
  CompiledQuery,
  type Expression,
  ExpressionWrapper,
  FunctionNode,
  type OperationNode,
  PostgresAdapter,
  PostgresIntrospector,
  PostgresQueryCompiler,
  SqliteAdapter,
  SqliteIntrospector,
  SqliteQueryCompiler,
  sql,
  ValueNode,
} from 'kysely';
import type { Store } from './store.ts';

// What one database says otherwise than the other. Everything else in this folder is the query builder's, or SQL that
// both read alike; the connections are in sqlite.ts and postgresql.ts.

/** A piece of text, or the number of an argument. */
type Wording = readonly (string | number)[];

/**
 * Functions that are written in each database's own words. A stored document that is not JSON has nothing at any path:
 * it must not fail a query for all others. On PostgreSQL `readable_json` is a function of the migrations.
 */
const wordings = {
  // The numbers of a JSON list.
  numbers_of: {
    sqlite: ['(select value from json_each(', 0, '))'],
    postgresql: ['(select unnest(translate(', 0, "::text, '[]', '{}')::bigint[]))"],
  },
  // The numbers of a list at a path (1: as SQLite writes it, 2: as PostgreSQL does) of a document; none where it has no list there.
  numbers_at: {
    sqlite: ['(select value from json_each(iif(json_valid(', 0, '), ', 0, ", '{}'), ", 1, '))'],
    postgresql: [
      '(select e::bigint from json_array_elements_text(case json_typeof(readable_json(',
      0,
      ') #> ',
      2,
      ") when 'array' then readable_json(",
      0,
      ') #> ',
      2,
      " else '[]'::json end) e)",
    ],
  },
  text_at: {
    sqlite: ['iif(json_valid(', 0, '), json_extract(', 0, ', ', 1, '), null)'],
    postgresql: ['(readable_json(', 0, ') #>> ', 2, ')'],
  },
  number_at: {
    sqlite: ['iif(json_valid(', 0, '), json_extract(', 0, ', ', 1, '), null)'],
    postgresql: ['(readable_json(', 0, ') #>> ', 2, ')::float8'],
  },
  has_document_at: {
    sqlite: ['(iif(json_valid(', 0, '), json_type(', 0, ', ', 1, "), null) = 'object')"],
    postgresql: ['(json_typeof(readable_json(', 0, ') #> ', 2, ") = 'object')"],
  },
  contains_text: {
    sqlite: ['(instr(lower(', 0, '), lower(', 1, ')) > 0)'],
    postgresql: ['(strpos(lower(', 0, '), lower(', 1, '::text)) > 0)'],
  },
} as const satisfies Record<string, { sqlite: Wording; postgresql: Wording }>;

type Word = keyof typeof wordings;

function wordingOf(word: string, database: 'sqlite' | 'postgresql'): Wording | undefined {
  return word in wordings ? wordings[word as Word][database] : undefined;
}

class SqliteWords extends SqliteQueryCompiler {
  protected override visitFunction(node: FunctionNode): void {
    const wording = wordingOf(node.func, 'sqlite');
    if (wording === undefined) super.visitFunction(node);
    for (const piece of wording ?? []) {
      if (typeof piece === 'string') this.append(piece);
      else this.visitNode(node.arguments[piece]);
    }
  }
}

class PostgresqlWords extends PostgresQueryCompiler {
  protected override visitFunction(node: FunctionNode): void {
    const wording = wordingOf(node.func, 'postgresql');
    if (wording === undefined) super.visitFunction(node);
    for (const piece of wording ?? []) {
      if (typeof piece === 'string') this.append(piece);
      else this.visitNode(node.arguments[piece]);
    }
  }
}

/** How queries are written for each database. */
export const dialects = {
  sqlite: {
    createAdapter: () => new SqliteAdapter(),
    createIntrospector: (db: ConstructorParameters<typeof SqliteIntrospector>[0]) =>
      new SqliteIntrospector(db),
    createQueryCompiler: () => new SqliteWords(),
  },
  postgresql: {
    createAdapter: () => new PostgresAdapter(),
    createIntrospector: (db: ConstructorParameters<typeof PostgresIntrospector>[0]) =>
      new PostgresIntrospector(db),
    createQueryCompiler: () => new PostgresqlWords(),
  },
};

export type DatabaseKind = keyof typeof dialects;

// biome-ignore lint/suspicious/noExplicitAny: the wrapper's first two types are of tables, of which these know none
function say<Value>(word: Word, ...given: OperationNode[]): ExpressionWrapper<any, any, Value> {
  return new ExpressionWrapper(FunctionNode.create(word, given));
}

function textNode(text: string): OperationNode {
  return sql.lit(text).toOperationNode();
}

/** A path as each database writes it: `$.a.b` and `{a,b}`. */
function pathNodes(path: readonly string[]): OperationNode[] {
  return [textNode(`$.${path.join('.')}`), textNode(`{${path.join(',')}}`)];
}

/** The numbers of a list of any length, for `where … in`: one parameter, however many there are. */
export function numbersIn(numbers: Iterable<number>) {
  return say<number>('numbers_of', ValueNode.create(JSON.stringify([...numbers])));
}

/** The numbers of a list that a stored document has at a path, for `in`. */
export function numbersAtPath(document: Expression<string>, path: readonly string[]) {
  return say<number>('numbers_at', document.toOperationNode(), ...pathNodes(path));
}

/** Bytes that a value takes; of a text in UTF-8. */
export function bytesOf(value: Expression<unknown>) {
  return sql<number>`octet_length(${value})`;
}

/** Whether a text contains another one, whatever the case of their letters (of ASCII). */
export function containsText(text: Expression<string>, part: string) {
  return say<boolean>('contains_text', text.toOperationNode(), ValueNode.create(part));
}

/** The text that a stored document has at a path, or a document there as JSON. */
export function textAtPath<Text extends string | null>(
  document: Expression<string>,
  path: readonly string[],
) {
  return say<Text>('text_at', document.toOperationNode(), ...pathNodes(path));
}

/** The number that a stored document has at a path. */
export function numberAtPath(document: Expression<string>, path: readonly string[]) {
  return say<number | null>('number_at', document.toOperationNode(), ...pathNodes(path));
}

/** Whether a stored document has a document of its own at a path. */
export function hasDocumentAt(document: Expression<string>, path: readonly string[]) {
  return say<boolean>('has_document_at', document.toOperationNode(), ...pathNodes(path));
}

/** The highest identifier that a table ever gave out, whether or not its row is still there. */
export async function readLastId({ place, db }: Store, table: string): Promise<number> {
  const query =
    place.kind === 'sqlite'
      ? sql<{ id: number | null }>`select max(seq) as id from sqlite_sequence where name = ${table}`
      : sql<{ id: number | null }>`select case when is_called then last_value else 0 end as id
          from ${sql.table(`${table}_id_seq`)}`;
  return (await query.execute(db)).rows[0]?.id ?? 0;
}

/** Makes a table go on after an identifier. */
export async function setLastId({ place, db }: Store, table: string, id: number): Promise<void> {
  if (place.kind === 'postgresql') {
    await sql`select setval(${`"${table}_id_seq"`}::regclass, ${Math.max(1, id)}, ${id > 0})`.execute(db);
    return;
  }
  await sql`delete from sqlite_sequence where name = ${table}`.execute(db);
  await sql`insert into sqlite_sequence (name, seq) values (${table}, ${id})`.execute(db);
}

type ColumnKind = 'int8' | 'float8' | 'text';

/**
 * Runs one statement for many rows of values. A file runs it row by row, which is as quick there; a server runs it once.
 *
 * @param kinds of the values of each row
 * @param statement its text, given an expression of a table that has the values as the columns a, b, c …
 * @returns the rows that it gave and the number of those it changed
 */
export async function runForRows<Row>(
  { place, db }: Store,
  kinds: readonly ColumnKind[],
  rows: readonly (readonly (number | string)[])[],
  statement: (table: string) => string,
): Promise<{ rows: Row[]; changed: number }> {
  if (rows.length === 0) return { rows: [], changed: 0 };
  const names = kinds.map((_, k) => String.fromCharCode(97 + k));
  if (place.kind === 'postgresql') {
    const lists = kinds.map((kind, k) => `$${k + 1}::${kind}[]`);
    const text = statement(`unnest(${lists.join(', ')}) AS v(${names.join(', ')})`);
    const values = kinds.map((_, k) => rows.map((row) => row[k]));
    const done = await db.executeQuery<Row>(CompiledQuery.raw(text, values));
    return { rows: done.rows, changed: Number(done.numAffectedRows ?? 0) };
  }
  const text = statement(`(SELECT ${names.map((name) => `? AS ${name}`).join(', ')}) AS v`);
  const found: Row[] = [];
  let changed = 0;
  for (const row of rows) {
    const done = await db.executeQuery<Row>(CompiledQuery.raw(text, [...row]));
    found.push(...done.rows);
    changed += Number(done.numAffectedRows ?? 0);
  }
  return { rows: found, changed };
}
