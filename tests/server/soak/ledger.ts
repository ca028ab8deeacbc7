import type { z } from 'zod';
import { cell, importedFile, job, list, liveTest, series, stack, withId, withState } from './answers.ts';
import type { Http } from './http.ts';

/** What clients were told is done, by what they asked. Nothing else is known of the database. */
export interface Ledger {
  /** By name: the rows that were sent, and what became of the file. */
  readonly files: Map<string, LedgerFile>;
  /** By name, with the serials of its cells. */
  readonly stacks: Map<string, readonly string[]>;
  /** Runs of the optimiser, by the job. */
  readonly pairings: Map<number, number>;
  /** The last decision about a pair. */
  readonly pairs: Map<number, 'accepted' | 'rejected'>;
  /** Rows of live records, by test. */
  readonly live: Map<number, number>;
  readonly jobs: Set<number>;
  /** Stacks that were planned and undone. */
  undoneStacks: number;
}

export interface LedgerFile {
  state: 'taken' | 'undone';
  readonly importId: number;
  /** Null for a table of cells. */
  readonly record: { readonly testId: number; readonly voltageV: readonly number[] } | null;
}

export function emptyLedger(): Ledger {
  return {
    files: new Map(),
    stacks: new Map(),
    pairings: new Map(),
    pairs: new Map(),
    live: new Map(),
    jobs: new Set(),
    undoneStacks: 0,
  };
}

/** All items of a list, whatever its pages. */
async function listAll<Item extends z.ZodType>(
  http: Http,
  path: string,
  item: Item,
): Promise<z.output<Item>[]> {
  const items: z.output<Item>[] = [];
  let cursor: string | null = null;
  do {
    const after: string = cursor === null ? '' : `&cursor=${encodeURIComponent(cursor)}`;
    const { body } = await http('GET', `${path}${path.includes('?') ? '&' : '?'}limit=200${after}`);
    const page = list.parse(body);
    items.push(...page.items.map((each) => item.parse(each)));
    cursor = page.nextCursor;
  } while (cursor !== null);
  return items;
}

/**
 * Compares everything that the services show with the ledger.
 *
 * @returns what is lost, there twice or half there, in words; nothing where all is right
 */
export async function compareWithLedger(http: Http, ledger: Ledger): Promise<string[]> {
  const wrong: string[] = [];
  await compareFiles(http, ledger, wrong);
  await compareStacks(http, ledger, wrong);
  const runs = new Set((await listAll(http, '/pairings', withId)).map(({ id }) => id));
  const known = new Set(ledger.pairings.values());
  for (const id of known) if (!runs.has(id)) wrong.push(`pairing ${id} was acknowledged and is lost`);
  for (const id of runs) if (!known.has(id)) wrong.push(`pairing ${id} is there and nobody ordered it`);
  if (known.size !== ledger.pairings.size) wrong.push('two jobs name the same pairing');
  for (const [id, state] of ledger.pairs) {
    const now = withState.parse((await http('GET', `/pairs/${id}`)).body);
    if (now.state !== state) wrong.push(`pair ${id} was ${state} and is ${now.state}`);
  }
  for (const [testId, rows] of ledger.live) {
    const { rowCount } = liveTest.parse((await http('GET', `/tests/${testId}/samples`)).body);
    if (rowCount !== rows) wrong.push(`live test ${testId} has ${rowCount} of ${rows} rows`);
  }
  const jobs = await listAll(http, '/jobs', job);
  for (const { id, state } of jobs) {
    if (!ledger.jobs.has(id)) wrong.push(`job ${id} is there, but no client had an answer about it`);
    if (state === 'waiting' || state === 'running') wrong.push(`job ${id} is still ${state}`);
  }
  const there = new Set(jobs.map(({ id }) => id));
  for (const id of ledger.jobs) if (!there.has(id)) wrong.push(`job ${id} was acknowledged and is lost`);
  return wrong;
}

async function compareFiles(http: Http, ledger: Ledger, wrong: string[]): Promise<void> {
  const seen = new Map<string, number>();
  for (const { fileName, state } of await listAll(http, '/imports', importedFile)) {
    seen.set(fileName, (seen.get(fileName) ?? 0) + 1);
    const known = ledger.files.get(fileName);
    if (known === undefined) wrong.push(`file ${fileName} is ${state} and nobody sent it`);
    else if (known.state !== state) wrong.push(`file ${fileName} was ${known.state} and is ${state}`);
  }
  for (const [name, file] of ledger.files) {
    if (seen.get(name) !== 1) wrong.push(`file ${name} is there ${seen.get(name) ?? 0} times`);
    if (file.state !== 'taken' || file.record === null) continue;
    const { testId, voltageV } = file.record;
    const { status, body } = await http('GET', `/tests/${testId}/series?points=20000`);
    const voltage = status === 200 ? series.parse(body).columns.find(isVoltage)?.values : [];
    if (JSON.stringify(voltage) !== JSON.stringify(voltageV))
      wrong.push(`test ${testId} of file ${name} does not have the samples that were sent`);
  }
}

const isVoltage = ({ unit }: { unit: string }): boolean => unit === 'V';

async function compareStacks(http: Http, ledger: Ledger, wrong: string[]): Promise<void> {
  const stacks = await listAll(http, '/stacks', stack);
  const inStacks = new Map<string, number>();
  for (const { name, cells } of stacks) {
    const serials = cells.map(({ serial }) => serial);
    for (const serial of serials) inStacks.set(serial, (inStacks.get(serial) ?? 0) + 1);
    const known = ledger.stacks.get(name);
    if (known === undefined) wrong.push(`stack ${name} is there, but no client had an answer about it`);
    else if (JSON.stringify(known) !== JSON.stringify(serials))
      wrong.push(`stack ${name} has the cells ${serials} instead of ${known}`);
  }
  const names = new Set(stacks.map(({ name }) => name));
  for (const name of ledger.stacks.keys())
    if (!names.has(name)) wrong.push(`stack ${name} was acknowledged and is lost`);
  for (const { serial, state } of await listAll(http, '/cells', cell)) {
    const count = inStacks.get(serial) ?? 0;
    if (count > 1) wrong.push(`cell ${serial} is in ${count} stacks`);
    if ((state === 'in-stack') !== (count === 1))
      wrong.push(`cell ${serial} is ${state}, in ${count} stacks`);
  }
}
