import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pino from 'pino';
import request from 'supertest';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { createApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { findPostgresqlPrograms, startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { type DatabasePlace, openStore, type Store } from '../../server/store/store.ts';
import { runSql } from '../support/sql.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median } from './harness.ts';
import { fillImportDatabase } from './support/importDatabase.ts';

const cells = 5000;
/** `GEMEL_BENCH_SHARE=0.1` fills a tenth of the tests and measurements. */
const share = Number(process.env.GEMEL_BENCH_SHARE ?? 1);
const tests = Math.round(200_000 * share);
const measurements = Math.round(5_000_000 * share);
const rounds = 15;

const pages = [
  '/overview',
  '/lots',
  '/cells?limit=50',
  '/cells?limit=50&lacking=true',
  '/lots/1/cells?limit=50',
  '/lots/1/cells?limit=50&sort=capacity&columns=capacity',
  '/cells/2500/measurements?limit=50',
  '/tests?limit=50',
  '/tests?limit=50&lotId=1',
  '/imports?limit=50',
  '/jobs?limit=50',
  '/pairings?limit=50',
  '/stacks?limit=50',
  '/lots/1/columns',
];

const numbers = (count: number) =>
  `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ${count})`;

/** A lot of cells with their tests and measurements, made in the database itself. */
async function fill(store: Store): Promise<void> {
  await fillImportDatabase(store);
  const at = "'2026-01-01T00:00:00.000Z'";
  const statements = [
    `INSERT INTO Cell (lotId, serial, createdAt) ${numbers(cells)} SELECT 1, 'C-' || (100000 + i), ${at} FROM n`,
    `INSERT INTO Test (cellId, kind, state, createdAt, evaluatedAt) ${numbers(tests)}
       SELECT 1 + i % ${cells}, 'capacity', 'sealed', ${at}, ${at} FROM n`,
    `INSERT INTO Measurement (cellId, testId, quantity, unit, value, soc, temperatureC, direction, durationS, cycle, method, createdAt)
       ${numbers(measurements)} SELECT 1 + i % ${cells}, 1 + i % ${tests},
       CASE i / ${cells} % 5 WHEN 0 THEN 'capacity' ELSE 'resistance' END, 'Ohm', 2 + (i % 977) * 0.001,
       CASE i / ${cells} % 5 WHEN 0 THEN NULL ELSE 0.5 END, 25, CASE i / ${cells} % 5 WHEN 0 THEN NULL ELSE 'discharge' END,
       CASE i / ${cells} % 5 WHEN 0 THEN NULL ELSE 10 END, i / ${5 * cells}, 'bench', ${at} FROM n`,
  ];
  for (const statement of statements) await runSql(store, statement);
  await runSql(store, 'ANALYZE');
}

async function timesOf(place: DatabasePlace, folder: string): Promise<Map<string, number>> {
  const store = await openStore(place);
  await fill(store);
  const config = readConfig({ GEMEL_DATA: folder });
  const base = { store, now: () => new Date(), random: seededRandom(1) };
  const app = createApp({ config, base, log: pino({ level: 'silent' }) });
  const times = new Map<string, number>();
  for (const page of pages) {
    const seconds: number[] = [];
    for (let round = 0; round <= rounds; round++) {
      const start = performance.now();
      const { status, text } = await request(app).get(`/api/v1${page}`);
      if (status !== 200) throw new Error(`${page}: ${status} ${text}`);
      if (round > 0) seconds.push((performance.now() - start) / 1000);
    }
    times.set(page, median(seconds));
  }
  await store.close();
  return times;
}

/** First pages of the lists of a big lot over HTTP, on both databases. There is no peer: the budget is 50 ms. */
async function run(): Promise<BenchResult> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  const rows: BenchRow[] = [];
  const add = (who: string, times: Map<string, number>) => {
    for (const [page, medianS] of times) rows.push({ who: `${who} ${page}`, medianS });
  };
  try {
    add('SQLite', await timesOf({ kind: 'sqlite', file: join(folder, 'bench.sqlite') }, folder));
    if (findPostgresqlPrograms() !== null) {
      const cluster = await startTemporaryCluster(['fsync=off', 'shared_buffers=256MB', 'max_wal_size=4GB']);
      try {
        add(
          'PostgreSQL',
          await timesOf({ kind: 'postgresql', url: cluster.url('postgres'), folder }, folder),
        );
      } finally {
        await cluster.stop();
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  return {
    name: 'lists',
    title: `First pages of a lot of ${cells} cells with ${tests} tests and ${measurements} measurements`,
    rows,
    ratio: null,
    against: '',
    remarks: ['budget: 50 ms each'],
  };
}

const bench: Bench = { name: 'lists', run };
export default bench;
