import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pino from 'pino';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { createApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { findPostgresqlPrograms, startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { type DatabasePlace, openStore } from '../../server/store/store.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, share } from './harness.ts';
import { fillBigLot } from './support/bigLot.ts';

const cells = 5000;
const tests = Math.round(100_000 * share);
const measurements = Math.round(2_500_000 * share);
const imports = Math.round(1_000 * share);
const rounds = 15;
const budgetMs = { page: 10, computed: 100 };

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
  '/lots/1/statistics',
];
/** What is computed over the whole lot. */
const computed: ReadonlySet<string> = new Set(['/lots/1/columns', '/lots/1/statistics']);

async function timesOf(place: DatabasePlace, folder: string): Promise<Map<string, number>> {
  const store = await openStore(place);
  await fillBigLot(store, { cells, tests, imports, measurements });
  const config = readConfig({ GEMEL_DATA: folder });
  const base = { store, now: () => new Date(), random: seededRandom(1) };
  const server = createApp({ config, base, log: pino({ level: 'silent' }) }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  const times = new Map<string, number>();
  for (const page of pages) {
    const seconds: number[] = [];
    for (let round = 0; round <= rounds; round++) {
      const start = performance.now();
      const response = await fetch(`http://127.0.0.1:${port}/api/v1${page}`);
      const text = await response.text();
      if (response.status !== 200) throw new Error(`${page}: ${response.status} ${text}`);
      if (round > 0) seconds.push((performance.now() - start) / 1000);
    }
    times.set(page, median(seconds));
  }
  server.closeAllConnections();
  await new Promise((resolve) => server.close(resolve));
  await store.close();
  return times;
}

function noteOf(page: string, medianS: number): string {
  const budget = computed.has(page) ? budgetMs.computed : budgetMs.page;
  return 1000 * medianS <= budget ? '' : `above its budget of ${budget} ms`;
}

/** First pages of the lists of a big lot over HTTP, on both databases. There is no peer: each has a budget. */
async function run(): Promise<BenchResult> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  const rows: BenchRow[] = [];
  const add = (who: string, times: Map<string, number>) => {
    for (const [page, medianS] of times)
      rows.push({ who: `${who} ${page}`, medianS, note: noteOf(page, medianS) });
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
    remarks: [
      `budget: ${budgetMs.page} ms a page, ${budgetMs.computed} ms for what is computed over the lot`,
    ],
  };
}

const bench: Bench = { name: 'lists', run };
export default bench;
