import { createReadStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { Agent, request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readConfig } from '../../server/config.ts';
import type { Job } from '../../server/contract/jobs.ts';
import { serve } from '../../server/main.ts';
import type { Bench, BenchResult } from './harness.ts';
import { median, shareOf } from './harness.ts';
import { makeImportDatabase } from './support/importDatabase.ts';
import { makeRecordCsv } from './support/recordCsv.ts';

const rows = shareOf(5_000_000, 50_000);
const csv = fileURLToPath(new URL(`results/record-${rows}.csv`, import.meta.url));
const idleMs = 3000;
const agent = new Agent({ keepAlive: true, maxSockets: 4 });

/** A small read while nothing happens, and while a long file is sent and imported in the background. */
async function run(): Promise<BenchResult> {
  makeRecordCsv(csv, rows);
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  await makeImportDatabase(join(folder, 'gemel.sqlite'));
  const service = await serve(readConfig({ GEMEL_DATA: folder, GEMEL_PORT: '0', GEMEL_WORKERS: '1' }));
  try {
    await readFor(service.address, () => false, 500);
    const idle = await readFor(service.address, () => false, idleMs);
    let over = false;
    const loaded = readFor(service.address, () => over, 120_000);
    const job = await upload(service.address).finally(() => {
      over = true;
    });
    const under = await loaded;
    if (job.state !== 'done') throw new Error(`The import ended ${job.state}: ${job.error}`);
    return result(idle, under);
  } finally {
    await service.stop();
    agent.destroy();
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Times of one small read after the other, in ms, until `over` or the time is up. */
async function readFor(address: string, over: () => boolean, limitMs: number): Promise<number[]> {
  const times: number[] = [];
  const end = performance.now() + limitMs;
  while (!over() && performance.now() < end) {
    const start = performance.now();
    await send('GET', `${address}/api/v1/lots?limit=5`);
    times.push(performance.now() - start);
    // A pause as between the clicks of a few people, so that the reads themselves are not the load.
    await new Promise((resolve) => setTimeout(resolve, 2));
  }
  return times;
}

async function upload(address: string): Promise<Job> {
  const path = '/api/v1/imports?lot=bench&cell=B-1&name=record.csv';
  const made = JSON.parse(await send('POST', address + path, createReadStream(csv))) as Job;
  for (;;) {
    const job = JSON.parse(await send('GET', `${address}/api/v1/jobs/${made.id}`)) as Job;
    if (job.state !== 'waiting' && job.state !== 'running') return job;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

function send(method: string, url: string, body?: NodeJS.ReadableStream): Promise<string> {
  return new Promise((resolve, reject) => {
    const headers = body ? { 'Content-Type': 'text/csv', 'Content-Length': statSync(csv).size } : {};
    const asked = request(url, { method, agent, headers }, (response) => {
      let text = '';
      response.setEncoding('utf8');
      response.on('data', (piece: string) => {
        text += piece;
      });
      response.on('end', () =>
        (response.statusCode ?? 500) < 300
          ? resolve(text)
          : reject(new Error(`${response.statusCode}: ${text}`)),
      );
    });
    asked.on('error', reject);
    if (body) body.pipe(asked);
    else asked.end();
  });
}

function result(idle: number[], under: number[]): BenchResult {
  const quantile = (times: number[], share: number): number =>
    [...times].sort((a, b) => a - b)[Math.floor(share * (times.length - 1))];
  const row = (who: string, times: number[]) => ({
    who,
    medianS: median(times) / 1000,
    note: `99th percentile ${quantile(times, 0.99).toFixed(2)} ms of ${times.length} reads`,
  });
  const times = quantile(under, 0.99) / quantile(idle, 0.99);
  return {
    name: 'import-load',
    title: `A small read while a file of ${(statSync(csv).size / 1e6).toFixed(0)} MB is sent and imported`,
    rows: [row('idle', idle), row('during upload and import', under)],
    ratio: 1 / times,
    against: `the same read while idle; its 99th percentile is ${times.toFixed(2)} times as long under load (goal: at most 5)`,
  };
}

const bench: Bench = { name: 'import-load', run };
export default bench;
