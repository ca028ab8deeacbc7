import { CompiledQuery } from 'kysely';
import type pg from 'pg';
import PgBoss from 'pg-boss';
import type { Delivery } from './delivery.ts';
import { type JobLane, laneOf, queueNames, queueOf } from './jobLanes.ts';
import { makePool } from './postgresqlPool.ts';
import { listWaitingJobs } from './runningJobs.ts';
import type { Store } from './store.ts';

/** What a message says: that the job waits. All else is in the table of the jobs. */
interface Message {
  readonly jobId: number;
}

/** The longest that pg-boss takes; a job whose worker is gone is found by its heartbeat long before. */
const expireInHours = 23;

/** Only writes messages: through the transaction that it is given. */
const sender = new PgBoss({
  db: {
    executeSql: async () => {
      throw new Error('A message is sent in the transaction that puts its job.');
    },
  },
});

/** Makes pg-boss's own tables and the two queues; whoever does so at the same time waits. */
export async function prepareQueues(url: string): Promise<void> {
  const pool = makePool(url, { max: 1 });
  try {
    const boss = new PgBoss({ db: overPool(pool), supervise: false, schedule: false });
    await boss.start();
    // One message of a job at a time: saying again that it waits adds nothing.
    for (const name of queueNames) await boss.createQueue(name, { name, policy: 'short' });
    await boss.stop({ graceful: false });
  } finally {
    await pool.end();
  }
}

function overPool(pool: pg.Pool): PgBoss.Db {
  return { executeSql: async (text, values) => pool.query(text, values) };
}

/** Says that a job waits, in the transaction that puts it. */
export async function sendWaiting(tx: Store, id: number, lane: JobLane): Promise<void> {
  const message: Message = { jobId: id };
  await sender.send(queueOf(lane), message, {
    singletonKey: String(id),
    expireInHours,
    retryLimit: 0,
    db: { executeSql: async (text, values) => tx.db.executeQuery(CompiledQuery.raw(text, values)) },
  });
}

/** Jobs as pg-boss hands them out, each to one of all those who ask. */
export async function openBossDelivery(store: Store, url: string): Promise<Delivery> {
  const pool = makePool(url, { max: 2 });
  const boss = new PgBoss({ db: overPool(pool), schedule: false });
  // What fails in its upkeep is tried again at the next turn.
  boss.on('error', () => {});
  await boss.start();
  return {
    next: async (lane) => {
      const [found] = await boss.fetch<Message>(queueOf(lane));
      if (found === undefined) return null;
      return { id: found.data.jobId, ended: async () => boss.complete(queueOf(lane), found.id) };
    },
    remind: async () => {
      for (const { id, kind } of await listWaitingJobs(store))
        await store.transaction((tx) => sendWaiting(tx, id, laneOf(kind)));
    },
    close: async () => {
      await boss.stop({ graceful: false });
      await pool.end();
    },
  };
}
