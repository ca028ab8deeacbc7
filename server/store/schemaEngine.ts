import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { bindMigrationAwareSqlAdapterFactory, type SqlDriverAdapter } from '@prisma/driver-adapter-utils';
import type { SchemaEngine } from '@prisma/schema-engine-wasm';
import { projectRoot } from '../projectRoot.ts';
import { applyMigrations } from './migrations.ts';

const schemaFolder = join(projectRoot, 'prisma');
const noFilter = { externalTables: [], externalEnums: [] };

type Bindings = typeof import('@prisma/schema-engine-wasm/schema_engine_bg');

let loading: Promise<Bindings> | null = null;

/**
 * Loads the migration engine as WebAssembly, to write a new migration or to compare: a start does without it. The engine's package has no loader for Node, and Prisma's own command
 * would download a native engine, which a machine without the internet cannot; so it is instantiated by hand.
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

/** Runs `use` with an engine on `databaseFile` and closes its connections afterwards, or they would keep it locked. */
async function withEngine<T>(databaseFile: string, use: (engine: SchemaEngine) => Promise<T>): Promise<T> {
  loading ??= loadBindings();
  const bindings = await loading;
  const inner = new PrismaBetterSqlite3({ url: `file:${databaseFile}` });
  const opened: SqlDriverAdapter[] = [];
  const remember = async (connection: Promise<SqlDriverAdapter>) => {
    const adapter = await connection;
    opened.push(adapter);
    return adapter;
  };
  const factory = bindMigrationAwareSqlAdapterFactory({
    provider: inner.provider,
    adapterName: inner.adapterName,
    connect: async () => remember(inner.connect()),
    connectToShadowDb: async () => remember(inner.connectToShadowDb()),
  });
  try {
    const engine = await bindings.SchemaEngine.new({ datamodels: schemaFiles() }, () => {}, factory);
    try {
      return await use(engine);
    } finally {
      engine.free();
    }
  } finally {
    for (const adapter of opened) await adapter.dispose();
  }
}

function schemaFiles(): [string, string][] {
  const path = join(schemaFolder, 'schema.prisma');
  return [[path, readFileSync(path, 'utf8')]];
}

function schemaContainers(): { path: string; content: string }[] {
  return schemaFiles().map(([path, content]) => ({ path, content }));
}

/**
 * The SQL that leads from the migrations (or from nothing) to the schema; null when there is no difference.
 * `scratchFile` is an empty database of no value, to which the migrations are applied for the comparison.
 */
export async function differenceToSchema(
  scratchFile: string,
  from: 'migrations' | 'nothing',
): Promise<string | null> {
  if (from === 'migrations') applyMigrations(scratchFile);
  const difference = await withEngine(scratchFile, (engine) =>
    engine.diff({
      from:
        from === 'nothing'
          ? { tag: 'empty' }
          : { tag: 'schemaDatasource', files: schemaContainers(), configDir: schemaFolder },
      to: { tag: 'schemaDatamodel', files: schemaContainers() },
      script: true,
      exitCode: true,
      filters: noFilter,
    }),
  );
  return difference.exitCode === 0 ? null : (difference.stdout ?? '');
}
