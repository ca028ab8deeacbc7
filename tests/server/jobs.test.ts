import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { MessageChannel } from 'node:worker_threads';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Job } from '../../server/contract/jobs.ts';
import { inOrder } from '../../server/inOrder.ts';
import { runJob } from '../../server/jobs/kinds.ts';
import { cancelJob, putJob, recoverJobs, retryJob } from '../../server/jobs/queue.ts';
import { startJobRunner } from '../../server/jobs/runner.ts';
import { JobStopped } from '../../server/jobs/task.ts';
import { openDelivery } from '../../server/store/delivery.ts';
import type { JobLane } from '../../server/store/jobLanes.ts';
import { findJob } from '../../server/store/jobs.ts';
import { finishJob, notePartResult, noteProgress, takeJob } from '../../server/store/runningJobs.ts';
import { findImport } from '../../server/store/sourceFiles.ts';
import { openFurtherStore, type Store } from '../../server/store/store.ts';
import { uploadFolder } from '../../server/store/uploads.ts';
import { selectOne } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { onPostgresql } from '../support/testDatabase.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
const folder = mkdtempSync(join(tmpdir(), 'gemel-jobs-'));
const at = '2026-02-01T08:00:00.000Z';

beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(async () => {
  await test.close();
  rmSync(folder, { recursive: true });
});

/** A worker of this machine whose pid no process has: beyond the largest that Linux gives out. */
const deadWorker = `${hostname()}:${2 ** 22 + 7}:1`;

/** Takes the next job of a lane as a runner does; null where none waits. */
async function takeNextJob(store: Store, lane: JobLane, workerId: string): Promise<Job | null> {
  const delivery = await openDelivery(store);
  try {
    for (;;) {
      const delivered = await delivery.next(lane, at);
      if (delivered === null) return null;
      const taken = await takeJob(store, delivered.id, workerId, at);
      if (taken !== null) return taken;
      await delivered.ended();
    }
  } finally {
    await delivery.close();
  }
}

describe('the queue', () => {
  it('gives each job to one taker, oldest first', async () => {
    const { context } = test;
    const ids = await inOrder(
      [1, 2, 3],
      async () => (await putJob(context, 'backup', { file: join(folder, 'x.sqlite') })).id,
    );
    const other = await openFurtherStore(context.store.place);
    const taken = [
      await takeNextJob(context.store, 'backup', 'a'),
      await takeNextJob(other, 'backup', 'b'),
      await takeNextJob(context.store, 'backup', 'a'),
    ];
    expect(taken.map((job) => job?.id)).toEqual(ids);
    expect(await takeNextJob(other, 'backup', 'b')).toBeNull();
    void other.close();
    // Only the taker may end a job.
    expect(await finishJob(context.store, ids[1], 'a', at, { state: 'done', result: {} })).toBe(false);
    expect(
      await finishJob(context.store, ids[1], 'b', at, {
        state: 'done',
        result: { file: join(folder, 'x.sqlite') },
      }),
    ).toBe(true);
    expect(await findJob(context.store, ids[1])).toMatchObject({
      state: 'done',
      progress: 1,
      result: { file: join(folder, 'x.sqlite') },
    });
    for (const id of [ids[0], ids[2]])
      await finishJob(context.store, id, 'a', at, { state: 'failed', error: 'no room' });
    expect(await findJob(context.store, ids[0])).toMatchObject({ state: 'failed', error: 'no room' });
  });

  it('cancels a waiting job at once and a running one at its next sign', async () => {
    const { context } = test;
    const waiting = await putJob(context, 'backup', { file: join(folder, 'x.sqlite') });
    expect(await cancelJob(context, waiting.id)).toMatchObject({ state: 'cancelled' });
    await expect(async () => cancelJob(context, waiting.id)).rejects.toThrow('ended already');
    const running = await putJob(context, 'backup', { file: join(folder, 'x.sqlite') });
    await takeNextJob(context.store, 'backup', 'a');
    expect(await noteProgress(context.store, running.id, 'a', at, { share: 0.25, text: '1 of 4' })).toEqual({
      cancelRequested: false,
    });
    await cancelJob(context, running.id);
    expect(await noteProgress(context.store, running.id, 'a', at, null)).toEqual({ cancelRequested: true });
    await finishJob(context.store, running.id, 'a', at, {
      state: 'cancelled',
      error: 'The job was cancelled.',
    });
    expect(await retryJob(context, running.id)).toMatchObject({
      state: 'waiting',
      cancelRequested: false,
      progress: 0,
    });
    await cancelJob(context, running.id);
  });

  it('notes how far a job is without writing to the job itself, which may be held', async () => {
    const { store } = test.context;
    const { id } = await putJob(test.context, 'backup', { file: join(folder, 'x.sqlite') });
    expect((await takeNextJob(store, 'backup', 'a'))?.id).toBe(id);
    const note = () => noteProgress(store, id, 'a', at, { share: 0.25, text: 'a quarter' });
    if (onPostgresql)
      await store.transaction(async (tx) => {
        await notePartResult(tx, id, 'a', '{}');
        // Elsewhere, on a connection of its own.
        const other = await openFurtherStore(store.place);
        expect(await noteProgress(other, id, 'a', at, { share: 0.25, text: 'a quarter' })).toEqual({
          cancelRequested: false,
        });
        await other.close();
      });
    else {
      await store.transaction(async (tx) => {
        const refused = sql`create trigger "held" before update on "Job" begin select raise(abort, 'the job was written'); end`;
        await refused.execute(tx.db);
      });
      await expect(notePartResult(store, id, 'a', '{}')).rejects.toThrow('the job was written');
      expect(await note()).toEqual({ cancelRequested: false });
      await store.transaction(async (tx) => void (await sql`drop trigger "held"`.execute(tx.db)));
    }
    expect(await findJob(store, id)).toMatchObject({ progress: 0.25, progressText: 'a quarter' });
    // What another worker says of it counts no more than before.
    expect(await noteProgress(store, id, 'b', at, { share: 0.5, text: 'half' })).toEqual({
      cancelRequested: true,
    });
    expect(await findJob(store, id)).toMatchObject({ progress: 0.25 });
    await finishJob(store, id, 'a', at, { state: 'failed', error: 'x' });
    await retryJob(test.context, id);
    expect(await findJob(store, id)).toMatchObject({ progress: 0, progressText: '' });
    expect((await takeNextJob(store, 'backup', 'c'))?.id).toBe(id);
    await finishJob(store, id, 'c', at, { state: 'done', result: { file: 'x' } });
    expect(await findJob(store, id)).toMatchObject({ state: 'done', progress: 1 });
  });

  it('lets a job of a dead process start again, and fails it after three tries', async () => {
    const { context } = test;
    const { id } = await putJob(context, 'backup', { file: join(folder, 'x.sqlite') });
    for (let attempt = 1; attempt <= 3; attempt++) {
      expect(await takeNextJob(context.store, 'backup', deadWorker)).toMatchObject({
        id,
        attempts: attempt,
      });
      expect(await recoverJobs(context.store, new Date(at), new Set([id]))).toBe(0);
      expect(await recoverJobs(context.store, new Date(at), new Set())).toBe(1);
    }
    expect(await findJob(context.store, id)).toMatchObject({
      state: 'failed',
      error: 'The service ended while the job ran.',
    });
  });
});

describe('the runner', () => {
  it('removes uploads that no job waits for, and keeps those that can be tried again', async () => {
    const { context } = test;
    const uploads = uploadFolder(context.store);
    mkdirSync(uploads, { recursive: true });
    for (const name of ['lost', 'failed']) {
      writeFileSync(join(uploads, name), 'x');
      // Older than any upload that another service could still be receiving.
      utimesSync(join(uploads, name), 0, 0);
    }
    const files = [{ name: 'f.csv', path: join(uploads, 'failed'), temporary: true }];
    const { id } = await putJob(context, 'import', { batch: 'u', files, options: {} });
    await cancelJob(context, id);
    await (
      await startJobRunner({
        store: context.store,
        log: { warn: console.warn, info: () => {} },
        workers: 1,
      })
    ).close();
    expect(readdirSync(uploads)).toEqual(['failed']);
  });

  it('stops an import that is cancelled and leaves nothing of it', async () => {
    const { context } = test;
    const path = join(folder, 'long.csv');
    const rows = Array.from({ length: 1_500_000 }, (_, i) => `${i}.5,3.70123,0.5`).join('\n');
    writeFileSync(path, `time_s,voltage_V,current_A\n${rows}\n`);
    const runner = await startJobRunner({
      store: context.store,
      log: { warn: console.warn, info: () => {} },
      workers: 1,
    });
    const files = [{ name: 'long.csv', path, temporary: false }];
    const { id } = await putJob(context, 'import', { batch: 'b', files, options: { lot: 'L-1', cell: 'X' } });
    await until(async () => (await findJob(context.store, id))?.state === 'running');
    await cancelJob(context, id);
    await until(async () => (await findJob(context.store, id))?.state === 'cancelled');
    await runner.close();
    const left = await selectOne(
      context.store,
      `SELECT (SELECT COUNT(*) FROM Record) AS records, (SELECT COUNT(*) FROM RecordChunk) AS chunks,
         (SELECT COUNT(*) FROM SourceFile) AS files, (SELECT COUNT(*) FROM Cell) AS cells`,
    );
    expect(left).toEqual({ records: 0, chunks: 0, files: 0, cells: 0 });
  });

  it('tells the truth of an import whose file was taken before the process ended, also when the upload is gone', async () => {
    const { context } = test;
    const path = join(folder, 'taken.csv');
    writeFileSync(
      path,
      `time_s,voltage_V,current_A\n${Array.from({ length: 50 }, (_, i) => `${i},3.7,${i % 2}`).join('\n')}\n`,
    );
    const files = [{ name: 'taken.csv', path, temporary: true }];
    const { id, input } = await putJob(context, 'import', {
      batch: 'k',
      files,
      options: { lot: 'L-1', cell: 'T' },
    });
    expect((await takeNextJob(context.store, 'work', deadWorker))?.id).toBe(id);
    const { port1, port2 } = new MessageChannel();
    const task = {
      database: context.store.place,
      jobId: id,
      workerId: deadWorker,
      kind: 'import',
      input,
      actorName: 'local',
      port: port2,
      stop: new Int32Array(new SharedArrayBuffer(4)),
      crew: null,
    } as const;
    await runJob(context, task, () => {});
    port1.close();
    expect(existsSync(path)).toBe(false);
    // The process ends here: the file is taken, its upload removed, and nothing has said that the job is done.
    const runner = await startJobRunner({
      store: context.store,
      log: { warn: console.warn, info: () => {} },
      workers: 1,
    });
    await until(async () => (await findJob(context.store, id))?.state === 'done');
    await runner.close();
    const done = await findJob(context.store, id);
    if (done?.kind !== 'import') throw new Error('The job is not an import.');
    const report = done.result?.reports[0];
    expect(report).toMatchObject({ state: 'taken', fileName: 'taken.csv', rowCount: 50, refusal: null });
    expect(await findImport(context.store, report?.sourceFileId as number)).toMatchObject({ state: 'taken' });
    expect(await selectOne(context.store, `SELECT COUNT(*) AS n FROM SourceFile WHERE batch = 'k'`)).toEqual({
      n: 1,
    });
  });

  it('does not take a file for a worker that lost the job to another', async () => {
    const { context } = test;
    const path = join(folder, 'lost.csv');
    writeFileSync(path, 'time_s,voltage_V,current_A\n0,3.7,0\n1,3.7,0\n');
    const files = [{ name: 'lost.csv', path, temporary: false }];
    const { id, input } = await putJob(context, 'import', {
      batch: 'l',
      files,
      options: { lot: 'L-1', cell: 'T' },
    });
    await takeNextJob(context.store, 'work', 'now:1');
    const { port1, port2 } = new MessageChannel();
    const stop = new Int32Array(new SharedArrayBuffer(4));
    const lost = {
      database: context.store.place,
      jobId: id,
      workerId: 'before:1',
      kind: 'import',
      input,
      actorName: 'local',
      port: port2,
      stop,
      crew: null,
    } as const;
    await expect(runJob(context, lost, () => {})).rejects.toBeInstanceOf(JobStopped);
    port1.close();
    expect(await selectOne(context.store, `SELECT COUNT(*) AS n FROM SourceFile WHERE batch = 'l'`)).toEqual({
      n: 0,
    });
    await cancelJob(context, id);
    await finishJob(context.store, id, 'now:1', context.now().toISOString(), {
      state: 'cancelled',
      error: '',
    });
  });

  it('fails a job with the reason, and tries it again when asked to', async () => {
    const { context } = test;
    const runner = await startJobRunner({
      store: context.store,
      log: { warn: () => {}, info: () => {} },
      workers: 1,
    });
    const { id } = await putJob(context, 'evaluate-test', { testId: 999_999 });
    await until(async () => (await findJob(context.store, id))?.state === 'failed');
    expect((await findJob(context.store, id))?.error).toBe('There is no test 999999.');
    await retryJob(context, id);
    await until(async () => (await findJob(context.store, id))?.state === 'failed');
    await runner.close();
  });
});

async function until(condition: () => Promise<boolean>): Promise<void> {
  for (let i = 0; i < 1000; i++) {
    if (await condition()) return;
    await delay(20);
  }
  throw new Error('It does not come about');
}
