import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { sqliteStore } from '../../server/store/sqlite.ts';
import { selectOne } from '../support/sql.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, shareOf } from './harness.ts';
import { copyCsv, copyVariants, openDuckDb } from './support/duckdb.ts';
import { makeImportDatabase } from './support/importDatabase.ts';
import { importOnce } from './support/importOnce.ts';
import { makeRecordCsv } from './support/recordCsv.ts';

const rows = shareOf(5_000_000, 50_000);
const rounds = shareOf(5);
/** The way of DuckDB that stores the record in the fewest bytes. */
const smallest = 'COPY to Parquet, fixed-point integers, v2, zstd';
const csv = fileURLToPath(new URL(`results/record-${rows}.csv`, import.meta.url));

/** CSV into the database, whole and durable, against DuckDB's one-thread COPY to Parquet; alternating in one run. */
async function run(): Promise<BenchResult> {
  makeRecordCsv(csv, rows);
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  try {
    const database = join(folder, 'bench.sqlite');
    const parquet = join(folder, 'bench.parquet');
    const [duck, wideDuck] = [await openDuckDb(1), await openDuckDb(2)];
    const wide: number[] = [];
    const ours: number[] = [];
    const theirs = new Map<string, number[]>(Object.keys(copyVariants).map((name) => [name, []]));
    const sizes = new Map<string, number>();
    // The first round warms both up and is not counted.
    for (let round = 0; round <= rounds; round++) {
      await makeImportDatabase(database);
      const seconds = await importOnce(database, csv);
      if (round > 0) ours.push(seconds);
      if (duck === null || wideDuck === null) continue;
      for (const [name, times] of theirs) {
        const start = performance.now();
        await copyCsv(duck, csv, parquet, name);
        if (round > 0) times.push((performance.now() - start) / 1000);
        sizes.set(name, statSync(parquet).size);
      }
      const start = performance.now();
      await copyCsv(wideDuck, csv, parquet, smallest);
      if (round > 0) wide.push((performance.now() - start) / 1000);
    }
    return result(
      ours,
      duck === null ? null : theirs,
      wide,
      sizes,
      await storedBytes(database),
      await peakOf(folder),
    );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function storedBytes(database: string): Promise<number> {
  const store = sqliteStore(database);
  const found = await selectOne<{ bytes: number }>(
    store,
    'SELECT SUM(length(data)) AS bytes FROM RecordChunk',
  );
  await store.close();
  return found?.bytes ?? Number.NaN;
}

/** Peak memory of the built program as a user runs it, in a fresh process that does nothing but import, in MB. */
async function peakOf(folder: string): Promise<number> {
  await makeImportDatabase(join(folder, 'gemel.sqlite'));
  const program = fileURLToPath(new URL('../../dist/server/commands/main.js', import.meta.url));
  const hook = fileURLToPath(new URL('support/printPeak.cjs', import.meta.url));
  const child = spawnSync(
    process.execPath,
    ['--require', hook, program, 'import', csv, '--lot', 'bench', '--cell', 'B-1'],
    { encoding: 'utf8', env: { PATH: process.env.PATH, GEMEL_DATA: folder } },
  );
  const peak = /^peak (\d+) kB$/m.exec(child.stderr);
  if (child.status !== 0 || peak === null) throw new Error(child.stderr);
  return Number(peak[1]) / 1024;
}

function result(
  ours: number[],
  theirs: Map<string, number[]> | null,
  wide: number[],
  sizes: Map<string, number>,
  bytes: number,
  peakMb: number,
): BenchResult {
  const note = (seconds: number, size: number): string =>
    `${(rows / seconds / 1e6).toFixed(2)} M rows/s, ${(size / rows).toFixed(2)} B/row`;
  const own = median(ours);
  const table: BenchRow[] = [{ who: 'gemel import', medianS: own, note: note(own, bytes) }];
  for (const [name, times] of theirs ?? []) {
    const seconds = median(times);
    table.push({
      who: `DuckDB ${name}`,
      medianS: seconds,
      note: note(seconds, sizes.get(name) ?? Number.NaN),
    });
  }
  const best = table.slice(1).sort((a, b) => a.medianS - b.medianS)[0];
  // Shown beside the others, and not what the ratio is against: ours is one thread.
  if (wide.length > 0)
    table.push({
      who: `DuckDB ${smallest}, two threads`,
      medianS: median(wide),
      note: note(median(wide), sizes.get(smallest) ?? Number.NaN),
    });
  return {
    name: 'import',
    title: `CSV of ${rows.toLocaleString('en')} rows (time, voltage, current, temperature) to durable storage, one thread`,
    rows: table,
    ratio: best === undefined ? null : best.medianS / own,
    against: best === undefined ? '' : `${best.who}, the quickest of its one-thread variants`,
    ...(theirs === null ? { missing: 'DuckDB; to install it: npm install --no-save @duckdb/node-api' } : {}),
    remarks: [
      'gemel: hash, dialect, units, row checks, steps, packing and the durable commit are included',
      `peak memory of \`gemel import\` on this file, a fresh process: ${peakMb.toFixed(0)} MB`,
    ],
  };
}

const bench: Bench = { name: 'import', run };
export default bench;
