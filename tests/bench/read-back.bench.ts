import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { DuckDBConnection } from '@duckdb/node-api';
import { inOrder } from '../../server/inOrder.ts';
import { readColumn } from '../../server/store/chunks/recordReader.ts';
import { sqliteStore } from '../../server/store/sqlite.ts';
import type { Store } from '../../server/store/store.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, shareOf } from './harness.ts';
import { copyCsv, openDuckDb } from './support/duckdb.ts';
import { makeImportDatabase } from './support/importDatabase.ts';
import { importOnce } from './support/importOnce.ts';
import { makeRecordCsv } from './support/recordCsv.ts';

const rows = shareOf(5_000_000, 50_000);
const rounds = shareOf(7);
const csv = fileURLToPath(new URL(`results/record-${rows}.csv`, import.meta.url));
const variants = ['COPY to Parquet, snappy', 'COPY to Parquet, zstd, v2 encodings'] as const;

/** Sums of all four columns of a stored record, against DuckDB's one-thread sums over its Parquet files. */
async function run(): Promise<BenchResult> {
  makeRecordCsv(csv, rows);
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  try {
    const database = join(folder, 'bench.sqlite');
    await makeImportDatabase(database);
    await importOnce(database, csv);
    const store = sqliteStore(database);
    const [duck, wideDuck] = [await openDuckDb(1), await openDuckDb(2)];
    const wide: number[] = [];
    const files = variants.map((_, i) => join(folder, `${i}.parquet`));
    if (duck !== null) for (const [i, file] of files.entries()) await copyCsv(duck, csv, file, variants[i]);
    const ours: number[] = [];
    const theirs: number[][] = variants.map(() => []);
    for (let round = 0; round <= rounds; round++) {
      let start = performance.now();
      const sums = await await ownSums(store);
      if (round > 0) ours.push((performance.now() - start) / 1000);
      if (duck === null || wideDuck === null) continue;
      for (const [i, file] of files.entries()) {
        start = performance.now();
        const read = await duckSums(duck, file);
        if (round > 0) theirs[i].push((performance.now() - start) / 1000);
        checkSums(sums, read);
      }
      start = performance.now();
      checkSums(sums, await duckSums(wideDuck, files[0]));
      if (round > 0) wide.push((performance.now() - start) / 1000);
    }
    await store.close();
    return result(ours, duck === null ? null : theirs, wide);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function duckSums(duck: DuckDBConnection, file: string): Promise<number[]> {
  const reader = await duck.runAndReadAll(
    `SELECT sum(time_s), sum(voltage_V), sum(current_A), sum(temperature_C) FROM read_parquet('${file}')`,
  );
  return reader.getRows()[0].map(Number);
}

async function ownSums(store: Store): Promise<number[]> {
  return await inOrder([0, 1, 2, 3], async (column) => {
    let sum = 0;
    for (const value of await readColumn(store, 1, column, { start: 0, end: rows })) sum += value;
    return sum;
  });
}

/** Both must have read the same record: sums in other orders agree to rounding. */
function checkSums(ours: readonly number[], theirs: readonly number[]): void {
  ours.forEach((sum, i) => {
    if (Math.abs(sum - theirs[i]) > 1e-9 * Math.max(Math.abs(sum), rows)) {
      throw new Error(`Column ${i} sums to ${sum} here and to ${theirs[i]} there`);
    }
  });
}

function result(ours: number[], theirs: number[][] | null, wide: number[]): BenchResult {
  const note = (seconds: number): string => `${(rows / seconds / 1e6).toFixed(1)} M rows/s`;
  const own = median(ours);
  const table: BenchRow[] = [{ who: 'gemel chunks', medianS: own, note: note(own) }];
  theirs?.forEach((times, i) => {
    const seconds = median(times);
    table.push({
      who: `DuckDB ${variants[i].replace('COPY to ', '')}`,
      medianS: seconds,
      note: note(seconds),
    });
  });
  if (wide.length > 0)
    table.push({
      who: `DuckDB ${variants[0].replace('COPY to ', '')}, two threads`,
      medianS: median(wide),
      note: note(median(wide)),
    });
  return {
    name: 'read-back',
    title: `Sums of four columns of a stored record of ${rows.toLocaleString('en')} rows, one thread`,
    rows: table,
    ratio: theirs === null ? null : table[1].medianS / own,
    against: 'DuckDB, sums over its Parquet file (snappy), one thread',
    ...(theirs === null ? { missing: 'DuckDB; to install it: npm install --no-save @duckdb/node-api' } : {}),
  };
}

const bench: Bench = { name: 'read-back', run };
export default bench;
