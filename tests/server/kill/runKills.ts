import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { recoverJobs } from '../../../server/jobs/queue.ts';
import { startJobRunner } from '../../../server/jobs/runner.ts';
import { insertCell } from '../../../server/store/cells.ts';
import { sweepIncomingFiles } from '../../../server/store/incomingFiles.ts';
import { requeueJob } from '../../../server/store/jobs.ts';
import { findRecord, readRecord } from '../../../server/store/records.ts';
import { sweepStagedRecords } from '../../../server/store/stagedRecords.ts';
import { openStore, type Store } from '../../../server/store/store.ts';
import { argumentsOf } from '../../support/program.ts';
import { selectAll, selectOne } from '../../support/sql.ts';
import { seededNumbers } from '../fuzz/mutateFile.ts';
import { makeLot } from '../importLot.ts';
import { rowOf, rowsOfFile } from './killFiles.ts';

export interface KillSummary {
  readonly kills: number;
  /** Files that were there, acknowledged or not. */
  readonly files: number;
  readonly acknowledgedFiles: number;
  readonly liveRows: number;
  /** Staged records that the ends left behind and the next start removed. */
  readonly swept: number;
  readonly jobsTakenUp: number;
}

const modes = ['import', 'live', 'jobs'] as const;

/**
 * Kills a process that imports, appends and runs jobs, again and again at random moments, and looks at the database
 * after each end.
 *
 * @throws Error naming what is damaged, half there, or lost although it was acknowledged
 */
export async function runKills(
  kills: number,
  seed: number,
  tell?: (done: number) => void,
): Promise<KillSummary> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-kill-'));
  const database = join(folder, 'gemel.sqlite');
  mkdirSync(join(folder, 'files'));
  const random = seededNumbers(seed);
  const said: Said = { files: new Set(), live: new Map(), jobs: new Map(), read: new Set() };
  let swept = 0;
  let jobsTakenUp = 0;
  try {
    const store = await openStore(database);
    const lotId = await makeLot(store, 'kill');
    await insertCell(store, { lotId, serial: 'live', note: '', createdAt: '2026-01-01', sourceFileId: null });
    await store.close();
    for (let kill = 0; kill < kills; kill++) {
      const mode = modes[kill % modes.length];
      const next = kill * 1000;
      // A job's thread needs a while to start; most ends are to strike later than that.
      const afterMs = random() ** 2 * 500 + (mode === 'jobs' ? random() * 700 : 0);
      await killOnce([database, join(folder, 'files'), mode, String(next)], afterMs, said);
      const after = await openStore(database);
      await checkIntegrity(after, kill);
      swept += (await sweepStagedRecords(after)) + (await sweepIncomingFiles(after, 'none'));
      jobsTakenUp += await recoverJobs(after, new Date(), new Set());
      await checkWhole(after, said, kill);
      await after.close();
      tell?.(kill + 1);
    }
    const last = await openStore(database);
    await finishJobs(last, said);
    said.read.clear();
    await checkWhole(last, said, kills);
    const counts = await selectOne<{ files: number }>(
      last,
      `SELECT COUNT(*) AS files FROM SourceFile WHERE state = 'taken'`,
    );
    await last.close();
    const liveRows = [...said.live.values()].reduce((sum, rows) => sum + rows, 0);
    return {
      kills,
      files: counts?.files ?? 0,
      acknowledgedFiles: said.files.size,
      liveRows,
      swept,
      jobsTakenUp,
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What the killed processes said was done. */
interface Said {
  readonly files: Set<number>;
  /** Rows by live test. */
  readonly live: Map<number, number>;
  /** File numbers by job. */
  readonly jobs: Map<number, number>;
  /** Tests whose samples were compared already; all of them are compared once more at the end. */
  readonly read: Set<number>;
}

async function killOnce(args: readonly string[], afterMs: number, said: Said): Promise<void> {
  const child = spawn(process.execPath, [...argumentsOf('tests/server/kill/victim.ts'), ...args], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let errors = '';
  let rest = '';
  let begun = (): void => {};
  const started = new Promise<void>((resolve) => {
    begun = resolve;
  });
  child.stderr.on('data', (piece: Buffer) => {
    errors += piece.toString();
  });
  child.stdout.on('data', (piece: Buffer) => {
    const lines = (rest + piece.toString()).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) {
      const [what, a, b] = line.split(' ');
      if (what === 'begin') begun();
      if (what === 'file') said.files.add(Number(a));
      if (what === 'live') said.live.set(Number(a), Number(b));
      if (what === 'job') said.jobs.set(Number(a), Number(b));
    }
  });
  const ended = new Promise<NodeJS.Signals | null>((resolve) => {
    child.on('close', (_code, signal) => resolve(signal));
  });
  await Promise.race([started, ended]);
  await delay(afterMs);
  child.kill('SIGKILL');
  const signal = await ended;
  if (signal !== 'SIGKILL') throw new Error(`The process ended by itself: ${errors}`);
}

async function checkIntegrity(store: Store, kill: number): Promise<void> {
  const found = await selectAll<{ integrity_check: string }>(store, 'PRAGMA integrity_check');
  if (found.length !== 1 || found[0].integrity_check !== 'ok') {
    throw new Error(`After kill ${kill} the database is damaged: ${JSON.stringify(found.slice(0, 3))}`);
  }
  const orphans = await selectAll(store, 'PRAGMA foreign_key_check');
  if (orphans.length > 0)
    throw new Error(`After kill ${kill} rows point at nothing: ${JSON.stringify(orphans[0])}`);
}

/** Every file is there whole or not at all, and everything that was acknowledged is there. */
async function checkWhole(store: Store, said: Said, kill: number): Promise<void> {
  const fail = (what: string): never => {
    throw new Error(`After kill ${kill}: ${what}`);
  };
  const left = await selectOne<{ n: number }>(
    store,
    `SELECT COUNT(*) AS n FROM Record WHERE state = 'staged' OR testId IS NULL`,
  );
  if (left?.n !== 0) fail(`${left?.n} staged records are left`);
  const files = await selectAll<{ name: string; testId: number | null; tests: number }>(
    store,
    `SELECT f.name, MIN(x.id) AS testId, COUNT(x.id) AS tests FROM SourceFile f LEFT JOIN Test x ON x.sourceFileId = f.id
     WHERE f.state = 'taken' GROUP BY f.id`,
  );
  const there = new Set<number>();
  for (const { name, testId, tests } of files) {
    const n = Number(/\d+/.exec(name)?.[0]);
    if (tests !== 1 || testId === null) fail(`file ${name} has ${tests} tests`);
    if (there.has(n)) fail(`file ${name} is there twice`);
    there.add(n);
    if (said.read.has(testId as number)) continue;
    await checkRecord(store, testId as number, n, rowsOfFile(n), `file ${name}`);
    said.read.add(testId as number);
  }
  for (const n of said.files) if (!there.has(n)) fail(`file ${n} was acknowledged and is not there`);
  for (const [testId, rows] of said.live) {
    const record = await findRecord(store, testId);
    if (record === null || record.rowCount < rows)
      fail(`live test ${testId} has ${record?.rowCount} of ${rows} rows`);
    await checkRecord(store, testId, 0, record?.rowCount ?? 0, `live test ${testId}`);
  }
  for (const id of said.jobs.keys()) {
    if ((await selectOne(store, 'SELECT 1 FROM Job WHERE id = ?', id)) === undefined)
      fail(`job ${id} was acknowledged and is not there`);
  }
}

async function checkRecord(
  store: Store,
  testId: number,
  n: number,
  rows: number,
  what: string,
): Promise<void> {
  const record = await findRecord(store, testId);
  if (record === null || record.rowCount !== rows)
    throw new Error(`${what} has ${record?.rowCount} of ${rows} rows`);
  const { timeS, voltageV, currentA } = await readRecord(store, record);
  for (let i = 0; i < rows; i++) {
    const [t, v, a] = rowOf(n, i);
    if (timeS[i] !== t || voltageV[i] !== v || currentA[i] !== a)
      throw new Error(`${what} differs in row ${i}`);
  }
}

/** Lets the jobs that the ends interrupted run to their end: each of their files must be taken once. */
async function finishJobs(store: Store, said: Said): Promise<void> {
  // A job that was interrupted three times is marked failed, with the reason; it must still be able to run to its end.
  for (const id of said.jobs.keys()) await requeueJob(store, id);
  const runner = await startJobRunner({ store, log: { warn: console.error, info: () => {} }, workers: 1 });
  for (let i = 0; i < 1200; i++) {
    const open = await selectOne<{ n: number }>(
      store,
      `SELECT COUNT(*) AS n FROM Job WHERE state IN ('waiting', 'running')`,
    );
    if (open?.n === 0) break;
    await delay(50);
  }
  await runner.close();
  for (const [id, n] of said.jobs) {
    const job = await selectOne<{ state: string; error: string | null }>(
      store,
      'SELECT state, error FROM Job WHERE id = ?',
      id,
    );
    if (job?.state !== 'done') throw new Error(`Job ${id} is ${job?.state}: ${job?.error}`);
    said.files.add(n);
  }
}
