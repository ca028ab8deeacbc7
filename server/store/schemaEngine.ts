import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import type { MigrationList, SchemaEngine } from '@prisma/schema-engine-wasm';
import { projectRoot } from '../projectRoot.ts';

const schemaFolder = join(projectRoot, 'prisma');
const migrationsFolder = join(schemaFolder, 'migrations');
const noFilter = { externalTables: [], externalEnums: [] };

/**
 * Loads the migration engine as WebAssembly. The engine's package has no loader for Node, and Prisma's own command
 * would download a native engine, which a machine without the internet cannot; so it is instantiated by hand.
 */
async function loadEngine(databaseFile: string): Promise<SchemaEngine> {
  const bindings = await import('@prisma/schema-engine-wasm/schema_engine_bg');
  const entry = createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm');
  const module = await WebAssembly.compile(readFileSync(join(entry, '..', 'schema_engine_bg.wasm')));
  const instance = await WebAssembly.instantiate(module, { './schema_engine_bg.js': bindings });
  bindings.__wbg_set_wasm(instance.exports);
  const start = instance.exports.__wbindgen_start;
  if (typeof start !== 'function') throw new Error('The migration engine has no start function.');
  start();
  const factory = bindMigrationAwareSqlAdapterFactory(new PrismaBetterSqlite3({ url: `file:${databaseFile}` }));
  return bindings.SchemaEngine.new({ datamodels: schemaFiles() }, () => {}, factory);
}

function schemaFiles(): [string, string][] {
  const path = join(schemaFolder, 'schema.prisma');
  return [[path, readFileSync(path, 'utf8')]];
}

/** Names of the migrations in prisma/migrations, in order. */
export function migrationNames(): string[] {
  return readdirSync(migrationsFolder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(migrationsFolder, entry.name, 'migration.sql')))
    .map((entry) => entry.name)
    .sort();
}

function migrationList(): MigrationList {
  const lock = join(migrationsFolder, 'migration_lock.toml');
  return {
    baseDir: migrationsFolder,
    lockfile: { path: './migration_lock.toml', content: existsSync(lock) ? readFileSync(lock, 'utf8') : null },
    shadowDbInitScript: '',
    migrationDirectories: migrationNames().map((name) => ({
      path: name,
      migrationFile: {
        path: 'migration.sql',
        content: { tag: 'ok', value: readFileSync(join(migrationsFolder, name, 'migration.sql'), 'utf8') },
      },
    })),
  };
}

/** Applies the migrations that `databaseFile` lacks and returns their names. */
export async function applyMigrations(databaseFile: string): Promise<string[]> {
  const engine = await loadEngine(databaseFile);
  const { appliedMigrationNames } = await engine.applyMigrations({
    migrationsList: migrationList(),
    filters: noFilter,
  });
  return appliedMigrationNames;
}

/**
 * The SQL that leads from the migrations (or from nothing) to the schema; null when there is no difference.
 * `scratchFile` is a database of no value that the engine may use.
 */
export async function differenceToSchema(
  scratchFile: string,
  from: 'migrations' | 'nothing',
): Promise<string | null> {
  const engine = await loadEngine(scratchFile);
  const difference = await engine.diff({
    from: from === 'nothing' ? { tag: 'empty' } : { tag: 'migrations', ...migrationList() },
    to: { tag: 'schemaDatamodel', files: schemaFiles().map(([path, content]) => ({ path, content })) },
    script: true,
    exitCode: true,
    filters: noFilter,
  });
  return difference.exitCode === 0 ? null : (difference.stdout ?? '');
}
