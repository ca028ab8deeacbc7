import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import pg from 'pg';
import { findPostgresqlPrograms, startTemporaryCluster } from '../../server/setup/temporaryCluster.ts';
import { openStore } from '../../server/store/store.ts';
import type { Bench, BenchResult } from './harness.ts';
import { median, shareOf } from './harness.ts';
import { fillImportDatabase } from './support/importDatabase.ts';
import { importInto } from './support/importOnce.ts';
import { makeRecordCsv } from './support/recordCsv.ts';

const rows = shareOf(2_000_000, 50_000);
const rounds = shareOf(3);
const csv = fileURLToPath(new URL(`results/record-${rows}.csv`, import.meta.url));

interface Measured {
  readonly seconds: number[];
  bytes: number;
}

/**
 * The same CSV into the same PostgreSQL server, durable both times: as a record of ours, and by the server's own COPY
 * into a table with one row for each sample and an index on the record and the time, without which no window can be read.
 */
async function run(): Promise<BenchResult> {
  const programs = findPostgresqlPrograms();
  if (programs === null) return missing();
  makeRecordCsv(csv, rows);
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  const cluster = await startTemporaryCluster(['shared_buffers=256MB', 'max_wal_size=4GB']);
  try {
    const ours: Measured = { seconds: [], bytes: 0 };
    const theirs: Measured = { seconds: [], bytes: 0 };
    const store = await openStore({ kind: 'postgresql', url: cluster.url('postgres'), folder });
    await fillImportDatabase(store);
    const client = new pg.Client({ connectionString: cluster.url('postgres') });
    await client.connect();
    for (let round = 0; round <= rounds; round++) {
      for (const table of ['"Measurement"', '"Fit"', '"Test"', '"Cell"', '"SourceFile"', '"Record"'])
        await client.query(`DELETE FROM ${table}`);
      await client.query('VACUUM FULL "RecordChunk"');
      const seconds = await importInto(store, csv);
      ours.bytes = await sizeOf(client, '"RecordChunk"');
      await client.query('DROP TABLE IF EXISTS samples');
      await client.query(
        'CREATE TABLE samples (record bigint DEFAULT 1, time_s float8, voltage_v float8, current_a float8, temperature_c float8)',
      );
      const copied = copyWithPsql(join(programs, 'psql'), cluster.url('postgres'));
      const start = performance.now();
      await client.query('CREATE INDEX ON samples (record, time_s)');
      const indexed = (performance.now() - start) / 1000;
      theirs.bytes = await sizeOf(client, 'samples');
      // The first round warms both up and is not counted.
      if (round === 0) continue;
      ours.seconds.push(seconds);
      theirs.seconds.push(copied + indexed);
    }
    await client.end();
    await store.close();
    return result(ours, theirs);
  } finally {
    await cluster.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

async function sizeOf(client: pg.Client, table: string): Promise<number> {
  const { rows: found } = await client.query('SELECT pg_total_relation_size($1::regclass) AS bytes', [table]);
  return Number(found[0].bytes);
}

/** Seconds that the server's own program takes to copy the file in. */
function copyWithPsql(psql: string, url: string): number {
  const start = performance.now();
  const copy = `\\copy samples (time_s, voltage_v, current_a, temperature_c) from '${csv}' csv header`;
  const { status, stderr } = spawnSync(psql, ['-X', '-q', '-c', copy, url], { encoding: 'utf8' });
  if (status !== 0) throw new Error(stderr);
  return (performance.now() - start) / 1000;
}

function result(ours: Measured, theirs: Measured): BenchResult {
  const row = (who: string, { seconds, bytes }: Measured) => ({
    who,
    medianS: median(seconds),
    note: `${(rows / median(seconds) / 1e6).toFixed(2)} M rows/s, ${(bytes / rows).toFixed(2)} B/row`,
  });
  const table = [row('gemel import', ours), row('COPY and index', theirs)];
  return {
    name: 'import-postgresql',
    title: `CSV of ${rows.toLocaleString('en')} rows (time, voltage, current, temperature) into PostgreSQL, durable`,
    rows: table,
    ratio: table[1].medianS / table[0].medianS,
    against: 'COPY of the same file into a table of rows, with an index on record and time',
    remarks: [`bytes: ${(theirs.bytes / ours.bytes).toFixed(1)} times fewer`],
  };
}

function missing(): BenchResult {
  return {
    name: 'import-postgresql',
    title: 'CSV into PostgreSQL',
    rows: [],
    ratio: null,
    against: '',
    missing: 'PostgreSQL; to install it: apt-get install postgresql',
  };
}

const bench: Bench = { name: 'import-postgresql', run };
export default bench;
