import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { PrismaPg } from '@prisma/adapter-pg';
import {
  bindMigrationAwareSqlAdapterFactory,
  type SqlDriverAdapter,
  type SqlMigrationAwareDriverAdapterFactory,
} from '@prisma/driver-adapter-utils';
import type { SchemaEngine } from '@prisma/schema-engine-wasm';
import pg from 'pg';
import { projectRoot } from '../projectRoot.ts';
import { readServerConnection } from './postgresqlAddress.ts';
import { type DatabasePlace, openStore } from './store.ts';

const schemaFolder = join(projectRoot, 'prisma');
const noFilter = { externalTables: [], externalEnums: [] };

type Bindings = typeof import('@prisma/schema-engine-wasm/schema_engine_bg');

let loading: Promise<Bindings> | null = null;

/**
 * Loads the migration engine as WebAssembly, to write a new migration or to compare: a start does without it. The
 * engine's package has no loader for Node, and Prisma's own command would download a native engine, which a machine
 * without the internet cannot; so it is instantiated by hand.
 * Once only: the bindings keep views of the first instance's memory.
 */
async function loadBindings(): Promise<Bindings> {
  const bindings = await import('@prisma/schema-engine-wasm/schema_engine_bg');
  const entry = createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm');
  const module = await WebAssembly.compile(readFileSync(join(entry, '..', 'schema_engine_bg.wasm')));
  const instance = await WebAssembly.instantiate(module, { './schema_engine_bg.js': bindings });
  bindings.__wbg_set_wasm(instance.exports);
  const start = instance.exports.__wbindgen_start;
  if (typeof start !== 'function') throw new Error('The migration engine has no start function.');
  // The engine tells the text of an internal failure through this global before it stops.
  Object.assign(globalThis, {
    PRISMA_WASM_PANIC_REGISTRY: { set_message: (text: string) => console.error(`migration engine: ${text}`) },
  });
  start();
  return bindings;
}

/** PostgreSQL's type of one byte, and of text. */
const oids = { char: 18, text: 25 } as const;

/** The adapter does not know the one-byte type of the server's own catalogue, which reads like a text. */
class CatalogueClient extends pg.Client {
  constructor(config?: string | pg.ClientConfig) {
    super(config);
    const ask: (...given: unknown[]) => unknown = super.query.bind(this);
    const query = (...given: unknown[]): unknown => {
      const done = given.at(-1);
      const own =
        typeof done === 'function'
          ? [...given.slice(0, -1), (error: unknown, result?: pg.QueryResult) => done(error, asText(result))]
          : given;
      const asked = ask(...own);
      return asked instanceof Promise ? asked.then(asText) : asked;
    };
    Object.assign(this, { query });
  }
}

function asText(result: pg.QueryResult | undefined): pg.QueryResult | undefined {
  for (const field of result?.fields ?? []) if (field.dataTypeID === oids.char) field.dataTypeID = oids.text;
  return result;
}

/** The engine asks for a partial index by its name between double quotes, which SQLite here reads as a column's alone. */
function readTextsAsTexts(adapter: SqlDriverAdapter): void {
  const ask = adapter.queryRaw.bind(adapter);
  adapter.queryRaw = async (query) =>
    ask(
      query.sql.includes('sqlite_master')
        ? { ...query, sql: query.sql.replaceAll(/= "(\w+)"/g, "= '$1'") }
        : query,
    );
}

function adapterFor(place: DatabasePlace): SqlMigrationAwareDriverAdapterFactory {
  return place.kind === 'sqlite'
    ? new PrismaBetterSqlite3({ url: `file:${place.file}` })
    : new PrismaPg(new pg.Pool({ ...readServerConnection(place.url), Client: CatalogueClient }), {
        disposeExternalPool: true,
      });
}

/** Runs `use` with an engine on a database and closes its connections afterwards, or they would keep it locked. */
async function withEngine<T>(place: DatabasePlace, use: (engine: SchemaEngine) => Promise<T>): Promise<T> {
  loading ??= loadBindings();
  const bindings = await loading;
  const inner = adapterFor(place);
  const opened: SqlDriverAdapter[] = [];
  const remember = async (connection: Promise<SqlDriverAdapter>) => {
    const adapter = await connection;
    opened.push(adapter);
    if (place.kind === 'sqlite') readTextsAsTexts(adapter);
    return adapter;
  };
  const factory = bindMigrationAwareSqlAdapterFactory({
    provider: inner.provider,
    adapterName: inner.adapterName,
    connect: async () => remember(inner.connect()),
    connectToShadowDb: async () => remember(inner.connectToShadowDb()),
  });
  try {
    const engine = await bindings.SchemaEngine.new({ datamodels: schemaFiles(place) }, () => {}, factory);
    try {
      return await use(engine);
    } finally {
      engine.free();
    }
  } finally {
    for (const adapter of opened) await adapter.dispose();
  }
}

/**
 * The one schema as a kind of database needs it. On PostgreSQL whole numbers are of eight bytes, as they are in SQLite:
 * a laboratory makes more than two thousand million measurements.
 */
function schemaFiles({ kind }: DatabasePlace): [string, string][] {
  const path = join(schemaFolder, 'schema.prisma');
  const text = readFileSync(path, 'utf8');
  if (kind === 'sqlite') return [[path, text]];
  const own = text
    .replace('provider = "sqlite"', 'provider = "postgresql"')
    .replaceAll(/^( +\w+ +)Int\b/gm, '$1BigInt');
  return [[path, own]];
}

/** Texts are compared byte by byte, whatever the language of the server, as in SQLite. */
function inBytes(sql: string): string {
  return sql.replaceAll(/^( {4}"\w+" TEXT)\b|(ADD COLUMN +"\w+" TEXT)\b/gm, '$& COLLATE "C"');
}

/**
 * The SQL that leads from the migrations (or from nothing) to the schema; null when there is no difference.
 *
 * @param scratch an empty database of no value, to which the migrations are applied for the comparison
 */
export async function differenceToSchema(
  scratch: DatabasePlace,
  from: 'migrations' | 'nothing',
): Promise<string | null> {
  if (from === 'migrations') await (await openStore(scratch)).close();
  const containers = schemaFiles(scratch).map(([path, content]) => ({ path, content }));
  const difference = await withEngine(scratch, (engine) =>
    engine.diff({
      from:
        from === 'nothing'
          ? { tag: 'empty' }
          : { tag: 'schemaDatasource', files: containers, configDir: schemaFolder },
      to: { tag: 'schemaDatamodel', files: containers },
      script: true,
      exitCode: true,
      filters: noFilter,
    }),
  );
  if (difference.exitCode === 0) return null;
  const sql = difference.stdout ?? '';
  return scratch.kind === 'sqlite' ? sql : inBytes(sql);
}
