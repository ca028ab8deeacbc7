import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import pg from 'pg';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { localActor } from '../../server/access/identify.ts';
import type { Context } from '../../server/context.ts';
import { findPostgresqlPrograms, startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { type DatabasePlace, openStore } from '../../server/store/store.ts';
import { openLiveTest } from '../../server/use-cases/imports/liveTest.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { startLab } from '../server/soak/processes.ts';
import { makeLot } from '../support/basics.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, share, shareOf } from './harness.ts';
import {
  feedChannels,
  type LiveTimes,
  quantile,
  sampleOf,
  samplesOfBatch,
  smallRead,
} from './support/liveChannels.ts';

const channels = Math.max(1, Math.round(1000 * share));
/** `GEMEL_BENCH_SECONDS=600` is the long form. */
const seconds = Number(process.env.GEMEL_BENCH_SECONDS ?? shareOf(60, 3));
const idleReads = 60;
/** Channels of a tester that sends one request for all of them. */
const testerChannels = 8;

const ways = [1, testerChannels];
const wayOf = (together: number): string => (together === 1 ? '' : `, testers of ${together} channels`);

interface Measured extends LiveTimes {
  readonly idleMs: readonly number[];
  readonly bytes: number;
}

/** Feeds a service of its own on a database, and measures what the samples came to there. */
async function feedGemel(place: DatabasePlace, folder: string, together: number): Promise<Measured> {
  const store = await openStore(place);
  const context: Context = { store, now: () => new Date(), actor: localActor, random: seededRandom(1) };
  const { lot } = await makeLot(context);
  const tests: number[] = [];
  for (let i = 0; i < channels; i++) {
    const cell = await createCell(context, { lotId: lot.id, serial: `C-${i}`, note: '' });
    const opened = { kind: 'cycling', label: '', temperatureC: null, withTemperature: false } as const;
    tests.push((await openLiveTest(context, cell.id, opened)).testId);
  }
  await store.close();
  const url = place.kind === 'postgresql' ? place.url : null;
  const before = await bytesOf(place);
  const lab = await startLab({ servers: 1, workers: 0, url, folder });
  try {
    const [address] = lab.addresses;
    const idleMs: number[] = [];
    for (let i = 0; i < idleReads; i++) {
      idleMs.push(await smallRead(address));
      await delay(50);
    }
    const times = await feedChannels(address, tests, seconds, together);
    return { ...times, idleMs, bytes: (await bytesOf(place)) - before };
  } finally {
    await lab.stop();
  }
}

async function bytesOf(place: DatabasePlace): Promise<number> {
  if (place.kind === 'sqlite') {
    const store = await openStore(place);
    await store.close();
    return statSync(place.file).size;
  }
  return withClient(place.url, async (client) => {
    await client.query('VACUUM FULL "RecordChunk"');
    await client.query('VACUUM FULL "LiveBatch"');
    const { rows } = await client.query(
      `SELECT pg_total_relation_size('"RecordChunk"') + pg_total_relation_size('"LiveBatch"') AS bytes`,
    );
    return Number(rows[0].bytes);
  });
}

async function withClient<T>(url: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

/** The same stream as rows: each second one durable COPY with the samples of all channels, from the server's own program. */
async function feedRows(url: string, psql: string): Promise<{ batchMs: number[]; bytes: number }> {
  await withClient(url, async (client) => {
    await client.query(
      'CREATE TABLE samples (channel bigint, time_s float8, voltage_v float8, current_a float8)',
    );
    await client.query('CREATE INDEX ON samples (channel, time_s)');
  });
  const child = spawn(psql, ['-X', url], { stdio: ['pipe', 'pipe', 'inherit'] });
  const batchMs: number[] = [];
  for (let batch = 0; batch < seconds; batch++) {
    const lines: string[] = [];
    for (let channel = 0; channel < channels; channel++)
      for (let i = 0; i < samplesOfBatch; i++)
        lines.push([channel, ...sampleOf(channel, batch * samplesOfBatch + i)].join('\t'));
    const start = performance.now();
    child.stdin.write(`COPY samples FROM STDIN;\n${lines.join('\n')}\n\\.\n`);
    // It says how many rows it copied when they are committed.
    await once(child.stdout, 'data');
    batchMs.push(performance.now() - start);
  }
  child.stdin.end();
  await once(child, 'exit');
  return withClient(url, async (client) => {
    const { rows } = await client.query(
      `SELECT pg_total_relation_size('samples') AS bytes, (SELECT count(*) FROM samples) AS n`,
    );
    if (Number(rows[0].n) !== channels * seconds * samplesOfBatch)
      throw new Error(`COPY took ${rows[0].n} rows.`);
    return { batchMs, bytes: Number(rows[0].bytes) };
  });
}

const rowsInAll = channels * seconds * samplesOfBatch;

function rowOf(
  who: string,
  { acknowledgedMs, readMs, idleMs, refused, elapsedS, bytes }: Measured,
): BenchRow {
  const behind = elapsedS > seconds + 1 ? `, FELL BEHIND: ${elapsedS.toFixed(0)} s for ${seconds} s` : '';
  const reads = quantile(readMs, 0.99) / quantile(idleMs, 0.99);
  return {
    who,
    medianS: median(acknowledgedMs) / 1000,
    note:
      `99 % acknowledged within ${quantile(acknowledgedMs, 0.99).toFixed(0)} ms, ${refused} refused${behind}; ` +
      `${(bytes / rowsInAll).toFixed(1)} B/row; small reads ${median(readMs).toFixed(1)} ms, 99 % ${reads.toFixed(1)} times idle`,
  };
}

async function run(): Promise<BenchResult> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  const loadBefore = loadavg()[0].toFixed(1);
  const rows: BenchRow[] = [];
  let bytesRatio: number | null = null;
  try {
    for (const together of ways) {
      const own = join(folder, `sqlite-${together}`);
      const place = { kind: 'sqlite', file: join(own, 'data', 'gemel.sqlite') } as const;
      rows.push(rowOf(`gemel, SQLite${wayOf(together)}`, await feedGemel(place, own, together)));
    }
    const programs = findPostgresqlPrograms();
    if (programs !== null) {
      const cluster = await startTemporaryCluster(['shared_buffers=256MB', 'max_wal_size=4GB']);
      try {
        let bytes = 0;
        for (const together of ways) {
          const name = `channels_${together}`;
          await withClient(cluster.url('postgres'), (client) => client.query(`CREATE DATABASE ${name}`));
          const url = cluster.url(name);
          const ours = await feedGemel({ kind: 'postgresql', url, folder }, folder, together);
          rows.push(rowOf(`gemel, PostgreSQL${wayOf(together)}`, ours));
          bytes = ours.bytes;
        }
        await withClient(cluster.url('postgres'), (client) => client.query('CREATE DATABASE rows_alone'));
        const theirs = await feedRows(cluster.url('rows_alone'), join(programs, 'psql'));
        bytesRatio = theirs.bytes / bytes;
        rows.push({
          who: 'rows by COPY, PostgreSQL',
          medianS: median(theirs.batchMs) / 1000,
          note: `one statement a second for all channels, without a service; ${(theirs.bytes / rowsInAll).toFixed(1)} B/row`,
        });
      } finally {
        await cluster.stop();
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return {
    name: 'live-ingest',
    title: `${channels} channels of 10 samples/s in batches of 1 s over HTTP, durable, for ${seconds} s`,
    rows,
    ratio: bytesRatio,
    against: 'bytes of the same samples as rows with an index on channel and time, in PostgreSQL (goal: 5)',
    remarks: [
      `load of the machine before: ${loadBefore}; time is from when a batch was due until it was acknowledged`,
    ],
    ...(bytesRatio === null ? { missing: 'PostgreSQL; to install it: apt-get install postgresql' } : {}),
  };
}

const bench: Bench = { name: 'live-ingest', run };
export default bench;
