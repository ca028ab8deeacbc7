import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import { projectRoot } from '../../server/projectRoot.ts';
import { type Bench, type BenchResult, type BenchRow, share } from './harness.ts';
import { makeImportDatabase } from './support/importDatabase.ts';
import { makeRecordCsv } from './support/recordCsv.ts';

const tableRows = Math.round(100_000 * share);
const recordRows = Math.round(3_000_000 * share);
const pulseTests = Math.max(2, Math.round(60 * share));
const idleMs = 8000;
const gapMs = 20;
const samplesAtATime = 10;
/** What is asked for: the 99th percentile against that of the idle service, and the longest wait. */
const goal = { ratio: 5, longestMs: 250 };

type Json = Record<string, unknown>;

/** Small requests against a service: a read and a live append, each again and again. */
class SmallRequests {
  readonly reads: number[] = [];
  readonly appends: number[] = [];
  /** How many requests were refused, by what was asked and why. */
  readonly refused = { reads: new Map<string, number>(), appends: new Map<string, number>() };
  private over = false;
  private readonly loops: Promise<void>[];

  constructor(address: string, testId: number, from: { row: number }) {
    const timed = async (
      what: 'reads' | 'appends',
      send: () => Promise<Response>,
      onAcknowledged = () => {},
    ) => {
      const refused = this.refused[what];
      while (!this.over) {
        const start = performance.now();
        const response = await send();
        const text = await response.text();
        this[what].push(performance.now() - start);
        if (response.ok) onAcknowledged();
        else {
          const why = `${response.status} ${text.slice(0, 200)}`;
          refused.set(why, (refused.get(why) ?? 0) + 1);
        }
        await delay(gapMs);
      }
    };
    const append = () => {
      const rows = Array.from({ length: samplesAtATime }, (_, i) => from.row + i);
      const body = {
        firstRow: from.row,
        timeS: rows.map((row) => row / 10),
        voltageV: rows.map((row) => 3.6 + (row % 7) / 1000),
        currentA: rows.map(() => 0),
      };
      return post(`${address}/tests/${testId}/samples`, body, `rows-${body.firstRow}`);
    };
    this.loops = [
      timed('reads', () => fetch(`${address}/cells/1`)),
      // The rows of a refused append are sent again: rows after them would leave a gap, and all be refused for that.
      timed('appends', append, () => {
        from.row += samplesAtATime;
      }),
    ];
  }

  async end(): Promise<void> {
    this.over = true;
    await Promise.all(this.loops);
  }
}

function post(url: string, body: unknown, key?: string): Promise<Response> {
  const headers = { 'Content-Type': 'application/json', ...(key && { 'Idempotency-Key': key }) };
  return fetch(url, { method: 'POST', headers, body: JSON.stringify(body) });
}

async function answer(sent: Promise<Response>): Promise<Json> {
  const response = await sent;
  const body = (await response.json()) as Json;
  if (!response.ok) throw new Error(`${response.url}: ${response.status} ${JSON.stringify(body)}`);
  return body;
}

async function startService(folder: string): Promise<{ service: ChildProcess; address: string }> {
  const { GEMEL_DATABASE: _other, ...rest } = process.env;
  const main = ['--import', 'tsx', join(projectRoot, 'server/commands/main.ts'), 'serve'];
  const service = spawn(process.execPath, main, {
    cwd: projectRoot,
    env: { ...rest, GEMEL_DATA: folder, GEMEL_PORT: '0' },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const address = await new Promise<string>((resolve, reject) => {
    let said = '';
    for (const stream of [service.stdout, service.stderr])
      stream?.on('data', (piece: Buffer) => {
        said += piece.toString();
        const found = /http:\/\/127\.0\.0\.1:\d+/.exec(said)?.[0];
        if (found !== undefined) resolve(`${found}/api/v1`);
      });
    service.once('exit', () => reject(new Error(`The service did not start: ${said}`)));
  });
  return { service, address };
}

function percentile(times: readonly number[], part: number): number {
  const sorted = [...times].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? Number.NaN;
}

function tableCsv(): string {
  const rows = Array.from(
    { length: tableRows },
    (_, i) => `C-${i},${(2 + (i % 97) / 1000).toFixed(3)},${(20 + (i % 89) / 100).toFixed(2)}`,
  );
  return `serial,capacity_Ah,resistance_10s_mohm\n${rows.join('\n')}\n`;
}

function valuesCsv(): string {
  const rows = Array.from(
    { length: tableRows },
    (_, i) => `C-${i},${(2.1 + (i % 83) / 1000).toFixed(3)},3.6${i % 10}`,
  );
  return `serial,capacity_Ah,ocv_V\n${rows.join('\n')}\n`;
}

function pulseCsv(n: number): string {
  const rows = Array.from({ length: 6000 }, (_, k) => {
    const loaded = k % 1000 >= 500 && k % 1000 < 700;
    const noise = (((k + 31 * n) * 7919) % 101) / 1e5;
    return `${k / 10},${(3.7 - (loaded ? 0.1 + 0.05 * (1 - Math.exp(-(k % 1000) / 300)) : 0) + noise).toFixed(5)},${loaded ? -2 : 0}`;
  });
  return `time_s,voltage_V,current_A\n${rows.join('\n')}\n`;
}

/** The kinds of long work, in an order in which each finds what it needs. */
function works(address: string, folder: string): { name: string; run: () => Promise<unknown> }[] {
  const ended = async (made: Promise<Json>): Promise<Json> => {
    const { id } = await made;
    for (;;) {
      const job = await answer(fetch(`${address}/jobs/${id}`));
      if (job.state === 'done') return job.result as Json;
      if (job.state !== 'waiting' && job.state !== 'running')
        throw new Error(`job ${job.state}: ${job.error}`);
      await delay(50);
    }
  };
  const upload = (name: string, options: string) => {
    const path = join(folder, name);
    const init = { method: 'POST', headers: { 'Content-Type': 'text/csv' }, body: readFileSync(path) };
    return ended(answer(fetch(`${address}/imports?lot=bench&name=${name}&${options}`, init)));
  };
  const table = { id: 0 };
  const values = { id: 0 };
  const taken = (result: Json): Json => {
    const [report] = result.reports as Json[];
    if (report.state !== 'taken') throw new Error(JSON.stringify(report.refusal));
    return report;
  };
  return [
    {
      name: `cell table of ${tableRows} rows`,
      run: async () => {
        table.id = Number(taken(await upload('table.csv', '')).sourceFileId);
      },
    },
    {
      name: `table of ${tableRows} of these cells`,
      run: async () => {
        values.id = Number(taken(await upload('values.csv', '')).sourceFileId);
      },
    },
    {
      name: 'undoing of these values',
      run: () => answer(post(`${address}/imports/${values.id}/undo`, {})),
    },
    {
      name: 'undoing of that table',
      run: () => answer(post(`${address}/imports/${table.id}/undo`, {})),
    },
    {
      name: `record of ${recordRows} rows`,
      run: async () => taken(await upload('record.csv', 'cell=P-0&testKind=cycling')),
    },
    {
      name: `import of ${pulseTests} pulse records`,
      run: async () => {
        for (let n = 0; n < pulseTests; n++)
          taken(await upload(`pulse-${n}.csv`, `cell=P-${n}&testKind=pulse`));
      },
    },
    { name: 'evaluation of the lot', run: () => ended(answer(post(`${address}/lots/1/evaluate`, {}))) },
    {
      name: 'export of the lot with records',
      run: () =>
        ended(
          answer(
            post(`${address}/exports/background`, {
              format: 'csv-package',
              subjectKind: 'lot',
              subjectId: 1,
              withRecords: true,
            }),
          ),
        ),
    },
    { name: 'backup', run: () => ended(answer(post(`${address}/backups`, {}))) },
  ];
}

function rowsOf(name: string, small: SmallRequests, idle: SmallRequests, tookS: number): BenchRow[] {
  return (['reads', 'appends'] as const).map((what) => {
    const times = small[what];
    const [p99, longest] = [percentile(times, 0.99), Math.max(...times)];
    const ratio = p99 / percentile(idle[what], 0.99);
    const missed =
      small !== idle && (ratio > goal.ratio || longest > goal.longestMs) ? '; misses the goal' : '';
    const refused = [...small.refused[what]].map(([why, n]) => `; ${n} refused: ${why}`).join('');
    return {
      who: `${name} (${tookS.toFixed(1)} s): ${what}`,
      medianS: percentile(times, 0.5) / 1000,
      note: `p99 ${p99.toFixed(1)} ms (${ratio.toFixed(1)} × idle), longest ${longest.toFixed(0)} ms of ${times.length}${missed}${refused}`,
    };
  });
}

/** What small reads and live appends wait for while the service does long work on an SQLite file. The peer is the idle service. */
async function run(): Promise<BenchResult> {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-contention-'));
  let service: ChildProcess | null = null;
  const loads: string[] = [];
  try {
    await makeImportDatabase(join(folder, 'gemel.sqlite'));
    writeFileSync(join(folder, 'table.csv'), tableCsv());
    writeFileSync(join(folder, 'values.csv'), valuesCsv());
    makeRecordCsv(join(folder, 'record.csv'), recordRows);
    for (let n = 0; n < pulseTests; n++) writeFileSync(join(folder, `pulse-${n}.csv`), pulseCsv(n));
    const started = await startService(folder);
    service = started.service;
    const { address } = started;
    const cell = await answer(post(`${address}/cells`, { lotId: 1, serial: 'LIVE', note: '' }));
    const { testId } = await answer(post(`${address}/cells/${cell.id}/live-tests`, { kind: 'rest' }));
    const from = { row: 0 };
    const beside = async (work: () => Promise<unknown>): Promise<[SmallRequests, number]> => {
      const small = new SmallRequests(address, Number(testId), from);
      const start = performance.now();
      await work();
      const tookS = (performance.now() - start) / 1000;
      await small.end();
      loads.push(loadavg()[0].toFixed(1));
      return [small, tookS];
    };
    await beside(() => delay(1000));
    const [idle, idleS] = await beside(() => delay(idleMs));
    const rows = rowsOf('idle', idle, idle, idleS);
    for (const { name, run: work } of works(address, folder)) {
      const [small, tookS] = await beside(work);
      rows.push(...rowsOf(name, small, idle, tookS));
    }
    return {
      name: 'contention',
      title: 'Small reads and live appends beside long work, on an SQLite file',
      rows,
      ratio: null,
      against: '',
      remarks: [
        `goal: 99th percentile at most ${goal.ratio} × idle, the longest at most ${goal.longestMs} ms`,
        `load of the machine after each: ${loads.slice(1).join(', ')}`,
      ],
    };
  } finally {
    if (service !== null && service.exitCode === null) {
      service.kill('SIGKILL');
      await once(service, 'exit');
    }
    rmSync(folder, { recursive: true, force: true });
  }
}

const bench: Bench = { name: 'contention', run };
export default bench;
