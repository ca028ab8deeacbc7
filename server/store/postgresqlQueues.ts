import type pg from 'pg';
import { queueNames } from './jobLanes.ts';

/** Number of the lock that those wait for who make the queues; any number that nothing else uses in this database. */
const queueLock = 7_140_234;

/** Makes the queues of the jobs where they are not there yet. */
export async function makeQueues(client: pg.PoolClient, url: string): Promise<void> {
  const there = async (): Promise<boolean> => {
    const { rows } = await client.query(`SELECT to_regclass('pgboss.queue') IS NOT NULL AS there`);
    if (!rows[0].there) return false;
    const { rows: queues } = await client.query(
      `SELECT count(*) AS n FROM pgboss.queue WHERE name = ANY($1)`,
      [queueNames],
    );
    return queues[0].n === queueNames.length;
  };
  if (await there()) return;
  await client.query('SELECT pg_advisory_lock($1)', [queueLock]);
  try {
    if (await there()) return;
    const { prepareQueues } = await import('./bossDelivery.ts');
    await prepareQueues(url);
  } finally {
    await client.query('SELECT pg_advisory_unlock($1)', [queueLock]);
  }
}
