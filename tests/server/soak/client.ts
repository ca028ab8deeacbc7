import { randomUUID } from 'node:crypto';
import { setTimeout as delay } from 'node:timers/promises';
import {
  type AnsweredJob,
  job as answeredJob,
  pairing,
  problem,
  stack,
  withId,
  withState,
} from './answers.ts';
import type { Answer, Http } from './http.ts';
import type { Ledger } from './ledger.ts';

/** What one client works on. */
export interface Work {
  readonly http: Http;
  readonly ledger: Ledger;
  readonly random: () => number;
  readonly client: number;
  readonly lot: { readonly id: number; readonly name: string };
  readonly liveTestId: number;
}

const looksEveryMs = 60;
const jobEndsWithinMs = 300_000;
const attempts = 20;

/** Capacity and resistance by their usual columns. */
const criteria = {
  name: 'soak',
  features: [
    { name: 'capacity', quantity: 'capacity', tolerance: { kind: 'percent', value: 3 } },
    { name: 'R(10 s)', quantity: 'resistance', tolerance: { kind: 'absolute', value: 0.002 } },
  ],
  bootstrapRuns: 0,
  randomPairings: 0,
};

/** Works until it is asked to end, and finishes what it has begun. @throws Error where an answer contradicts the ledger */
export async function runClient(work: Work, ends: () => boolean): Promise<void> {
  for (let n = 0; !ends(); n++) {
    const what = work.random();
    if (what < 0.4) await importFile(work, n);
    else if (what < 0.6) await appendLive(work);
    else if (what < 0.75) await undoFile(work);
    else await pairAndDecide(work, n);
  }
}

function expectStatus(answer: Answer, what: string, ...statuses: number[]): void {
  if (!statuses.includes(answer.status))
    throw new Error(`${what}: ${answer.status} ${JSON.stringify(answer.body)}`);
}

/** Orders a job and waits until it has ended; what ended because its worker was killed too often is tried again. */
async function runJob(
  { http, ledger }: Pick<Work, 'http' | 'ledger'>,
  path: string,
  asked: Parameters<Http>[2],
): Promise<AnsweredJob> {
  const ordered = await http('POST', path, { ...asked, key: randomUUID() });
  expectStatus(ordered, `the order at ${path}`, 202);
  const { id } = withId.parse(ordered.body);
  ledger.jobs.add(id);
  const until = performance.now() + jobEndsWithinMs;
  for (let attempt = 0; attempt < attempts; ) {
    const job = answeredJob.parse((await http('GET', `/jobs/${id}`)).body);
    if (job.state === 'done' || (job.state === 'failed' && isAboutContent(job.error ?? ''))) return job;
    if (job.state === 'failed') {
      attempt++;
      // Of two attempts of this request the second finds the job waiting again.
      expectStatus(await http('POST', `/jobs/${id}/retry`), `the retry of job ${id}`, 200, 202, 409);
    } else if (performance.now() > until) {
      throw new Error(`Job ${id} is ${job.state} after ${jobEndsWithinMs / 1000} s.`);
    }
    await delay(looksEveryMs);
  }
  throw new Error(`Job ${id} fails again and again.`);
}

/** Whether a job failed for what it was asked, so that trying again changes nothing. */
function isAboutContent(error: string): boolean {
  return /pair|cells|available/i.test(error) && !/terminat|connection|ended/i.test(error);
}

/** Imports a table or record as one file. @returns its report */
export async function importText(
  work: Pick<Work, 'http' | 'ledger' | 'lot'>,
  name: string,
  text: string,
  cell?: string,
): Promise<{ importId: number; testIds: (number | null)[] }> {
  const query = new URLSearchParams({ lot: work.lot.name, name, ...(cell === undefined ? {} : { cell }) });
  const job = await runJob(work, `/imports?${query}`, { text });
  const [report] = job.result?.reports ?? [];
  if (report?.state !== 'taken' || report.sourceFileId === null)
    throw new Error(`The file ${name} was not taken: ${JSON.stringify(report ?? job)}`);
  return { importId: report.sourceFileId, testIds: report.runs.map(({ testId }) => testId) };
}

async function importFile(work: Work, n: number): Promise<void> {
  const { random, client, ledger } = work;
  const rows = random() < 0.1 ? 6000 : 40 + Math.floor(random() * 300);
  const voltageV = Array.from({ length: rows }, (_, i) =>
    Number((3.6 + 0.1 * Math.sin(i + client) + random() / 1000).toFixed(6)),
  );
  const lines = voltageV.map((voltage, i) => `${i},${voltage},${i % 40 < 20 ? 0 : 1}`);
  const name = `client-${client}-${n}.csv`;
  const text = `time_s,voltage_V,current_A\n${lines.join('\n')}\n`;
  const { importId, testIds } = await importText(work, name, text, `R-${client}-${n % 3}`);
  const [testId] = testIds;
  if (testId == null) throw new Error(`The file ${name} was taken without a test.`);
  ledger.files.set(name, { state: 'taken', importId, record: { testId, voltageV } });
}

async function undoFile({ http, ledger, random, client }: Work): Promise<void> {
  const own = [...ledger.files].filter(
    ([name, { state }]) => state === 'taken' && name.startsWith(`client-${client}-`),
  );
  if (own.length === 0) return;
  const [name, file] = own[Math.floor(random() * own.length)];
  const answer = await http('POST', `/imports/${file.importId}/undo`);
  if (answer.unsure && answer.status === 409) {
    const { state } = withState.parse((await http('GET', `/imports/${file.importId}`)).body);
    if (state !== 'undone')
      throw new Error(`The undoing of ${name} is refused: ${problem.parse(answer.body).detail}`);
  } else expectStatus(answer, `the undoing of ${name}`, 200);
  ledger.files.set(name, { ...file, state: 'undone' });
}

async function appendLive({ http, ledger, liveTestId }: Work): Promise<void> {
  const firstRow = ledger.live.get(liveTestId) ?? 0;
  const rows = Array.from({ length: 10 }, (_, i) => firstRow + i);
  const answer = await http('POST', `/tests/${liveTestId}/samples`, {
    key: `rows-${firstRow}`,
    body: {
      firstRow,
      timeS: rows.map((row) => row / 10),
      voltageV: rows.map((row) => 3.5 + (row % 7) / 100),
      currentA: rows.map(() => 1),
    },
  });
  expectStatus(answer, `samples of test ${liveTestId}`, 200);
  ledger.live.set(liveTestId, firstRow + rows.length);
}

async function pairAndDecide(work: Work, n: number): Promise<void> {
  const { http, ledger, random, client, lot } = work;
  const job = await runJob(work, '/pairings', {
    body: { lotIds: [lot.id], cellIds: [], criteria, name: `run ${client}-${n}` },
  });
  // Where no cells are left, there is nothing to decide.
  if (job.state === 'failed') return;
  const pairingId = job.result?.pairingId;
  if (pairingId === undefined) throw new Error(`Job ${job.id} names no pairing.`);
  ledger.pairings.set(job.id, pairingId);
  const run = pairing.parse((await http('GET', `/pairings/${pairingId}`)).body);
  if (run.pairs.length === 0) return;
  const pair = run.pairs[Math.floor(random() * run.pairs.length)];
  const state = random() < 0.8 ? 'accepted' : 'rejected';
  const decided = await http('PATCH', `/pairs/${pair.id}`, {
    body: { state, reason: state === 'rejected' ? 'soak' : null },
    version: pair.version,
  });
  if (decided.unsure && decided.status === 412) {
    const now = withState.parse((await http('GET', `/pairs/${pair.id}`)).body);
    if (now.state !== state) throw new Error(`Pair ${pair.id} is ${now.state} after it was ${state}.`);
  } else if (decided.status === 409) return;
  else expectStatus(decided, `the decision about pair ${pair.id}`, 200);
  ledger.pairs.set(pair.id, state);
  if (state === 'accepted') await planStack(work, pair.id, `stack ${client}-${n}`);
}

async function planStack({ http, ledger, random }: Work, pairId: number, name: string): Promise<void> {
  const planned = await http('POST', '/stacks', { body: { pairId, name }, key: randomUUID() });
  // Another client was quicker to take one of the cells.
  if (planned.status === 409) return;
  expectStatus(planned, `the stack of pair ${pairId}`, 201);
  const { id, version, cells } = stack.parse(planned.body);
  ledger.stacks.set(
    name,
    cells.map(({ serial }) => serial),
  );
  if (random() < 0.15) return;
  const undone = await http('DELETE', `/stacks/${id}`, { version });
  if (!(undone.unsure && undone.status === 404)) expectStatus(undone, `the undoing of stack ${name}`, 204);
  ledger.stacks.delete(name);
  ledger.undoneStacks++;
}
