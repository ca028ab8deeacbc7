import { randomUUID } from 'node:crypto';
import type { PoolClient } from 'pg';
import { lackingMigrations, type NotedMigration, refuseUnknown } from './migrations.ts';

/** Where the applied migrations are noted: the table that Prisma's own command makes and reads. */
const notesTable = `CREATE TABLE IF NOT EXISTS "_prisma_migrations" (
  "id" VARCHAR(36) PRIMARY KEY NOT NULL,
  "checksum" VARCHAR(64) NOT NULL,
  "finished_at" TIMESTAMPTZ,
  "migration_name" VARCHAR(255) NOT NULL,
  "logs" TEXT,
  "rolled_back_at" TIMESTAMPTZ,
  "started_at" TIMESTAMPTZ NOT NULL DEFAULT now(),
  "applied_steps_count" INTEGER NOT NULL DEFAULT 0
)`;

/** Number of the lock that those wait for who start at the same time; any number that nothing else uses in this database. */
const migrationLock = 7_140_233;

async function notedIn(client: PoolClient): Promise<NotedMigration[]> {
  const { rows: found } = await client.query(
    `SELECT to_regclass('"_prisma_migrations"') IS NOT NULL AS there`,
  );
  if (!found[0].there) return [];
  const { rows } = await client.query<{ name: string; checksum: string; finished: number }>(
    `SELECT migration_name AS name, checksum, finished_at IS NOT NULL AS finished FROM "_prisma_migrations"
     WHERE rolled_back_at IS NULL ORDER BY migration_name`,
  );
  return rows.map((row) => ({ ...row, finished: row.finished === 1 }));
}

/**
 * Applies the migrations that a database lacks, all of them in one transaction, and returns their names. Whoever starts
 * at the same time waits and then finds them applied.
 *
 * @param place the database as people know it
 * @throws Refusal `newer-database` where it has others
 */
export async function applyMigrations(client: PoolClient, place: string): Promise<string[]> {
  const noted = await notedIn(client);
  refuseUnknown('postgresql', place, noted, 'name another database in GEMEL_DATABASE');
  if (lackingMigrations('postgresql', noted).length === 0) return [];
  await client.query('BEGIN');
  try {
    await client.query('SELECT pg_advisory_xact_lock($1)', [migrationLock]);
    await client.query(notesTable);
    await client.query('DELETE FROM "_prisma_migrations" WHERE finished_at IS NULL');
    const lacking = lackingMigrations('postgresql', await notedIn(client));
    for (const { name, sql, checksum } of lacking) {
      const startedAt = new Date();
      await client.query(sql);
      await client.query(
        `INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, started_at, applied_steps_count)
         VALUES ($1, $2, now(), $3, $4, 1)`,
        [randomUUID(), checksum, name, startedAt],
      );
    }
    await client.query('COMMIT');
    return lacking.map(({ name }) => name);
  } catch (error) {
    await client.query('ROLLBACK');
    throw error;
  }
}
