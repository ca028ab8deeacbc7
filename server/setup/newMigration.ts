import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { migrationNames, migrationsFolder } from '../store/migrations.ts';
import { differenceToSchema } from '../store/schemaEngine.ts';
import type { DatabasePlace } from '../store/store.ts';
import { findPostgresqlPrograms, startTemporaryCluster } from './temporaryCluster.ts';

const name = process.argv[2];
if (!name || !/^[a-z0-9_]+$/.test(name)) {
  console.error('Usage: npm run migration -- name_in_lower_case');
  process.exit(2);
}
if (findPostgresqlPrograms() === null) {
  console.error(
    "A migration is written for both databases; PostgreSQL's programs are missing: apt-get install postgresql",
  );
  process.exit(1);
}
const stamp = new Date().toISOString().replace(/\D/g, '').slice(0, 14);

/** Writes what leads from the migrations of a kind of database to the schema. */
async function write(scratch: DatabasePlace): Promise<void> {
  const { kind } = scratch;
  const from = migrationNames(kind).length === 0 ? 'nothing' : 'migrations';
  const sql = await differenceToSchema(scratch, from);
  if (sql === null) {
    console.log(`${kind}: the migrations already lead to the schema; nothing was written.`);
    return;
  }
  const folder = join(migrationsFolder(kind), `${stamp}_${name}`);
  mkdirSync(folder);
  writeFileSync(join(folder, 'migration.sql'), sql);
  console.log(`Wrote prisma/migrations/${kind}/${stamp}_${name}/migration.sql`);
}

const folder = mkdtempSync(join(tmpdir(), 'gemel-migration-'));
const cluster = await startTemporaryCluster(['fsync=off']);
try {
  await write({ kind: 'sqlite', file: join(folder, 'scratch.sqlite') });
  await write({ kind: 'postgresql', url: cluster.url('postgres'), folder });
} finally {
  await cluster.stop();
  rmSync(folder, { recursive: true, force: true });
}
