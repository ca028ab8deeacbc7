import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { projectRoot } from '../projectRoot.ts';
import { migrationNames } from '../store/migrations.ts';
import { differenceToSchema } from '../store/schemaEngine.ts';

const name = process.argv[2];
if (!name || !/^[a-z0-9_]+$/.test(name)) {
  console.error('Usage: npm run migration -- name_in_lower_case');
  process.exit(2);
}
const scratch = mkdtempSync(join(tmpdir(), 'gemel-migration-'));
try {
  const from = migrationNames().length === 0 ? 'nothing' : 'migrations';
  const sql = await differenceToSchema(join(scratch, 'scratch.sqlite'), from);
  if (sql === null) {
    console.log('The migrations already lead to the schema; nothing was written.');
  } else {
    const stamp = new Date().toISOString().replace(/\D/g, '').slice(0, 14);
    const folder = join(projectRoot, 'prisma', 'migrations', `${stamp}_${name}`);
    mkdirSync(folder);
    writeFileSync(join(folder, 'migration.sql'), sql);
    console.log(`Wrote prisma/migrations/${stamp}_${name}/migration.sql`);
  }
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
