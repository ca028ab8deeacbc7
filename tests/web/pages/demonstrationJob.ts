import { logStudy, stackLogRows, stackLogText, usualBench, usualTruth } from '../../support/stackLog.ts';

interface Item {
  readonly id: number;
  readonly name?: string;
}

/** Asks the service as any program would. */
export async function ask<T>(
  address: string,
  path: string,
  body?: unknown,
  headers: Readonly<Record<string, string>> = {},
): Promise<T> {
  const response = await fetch(`${address}/api/v1${path}`, {
    ...(body === undefined
      ? {}
      : {
          method: 'POST',
          headers: { 'content-type': 'application/json', ...headers },
          body: JSON.stringify(body),
        }),
  });
  const text = await response.text();
  if (!response.ok) throw new Error(`${path} was answered with ${response.status}: ${text}`);
  return JSON.parse(text) as T;
}

async function firstOf(address: string, path: string): Promise<number> {
  const { items } = await ask<{ items: Item[] }>(address, path);
  if (items.length === 0) throw new Error(`There is nothing at ${path}.`);
  return items[0].id;
}

/** The pulse test with the longest record: one over the whole range of charge, and no short repeat. */
async function longestPulseTest(address: string): Promise<number> {
  const { items } = await ask<{ items: (Item & { record: { durationS: number } | null })[] }>(
    address,
    '/tests?kind=pulse&limit=500',
  );
  const duration = (t: (typeof items)[number]) => t.record?.durationS ?? 0;
  const [longest] = [...items].sort((a, b) => duration(b) - duration(a));
  if (longest === undefined) throw new Error('There is not a pulse test.');
  return longest.id;
}

/** Sends the log of a charge of a stack, sets it beside its study, and keeps a converter. @returns ids of log and evaluation */
async function doTheLog(address: string, stackName: string): Promise<{ log: number; evaluation: number }> {
  const text = stackLogText(stackLogRows(usualTruth, usualBench(31)));
  const body = new FormData();
  body.append('file', new Blob([text], { type: 'text/csv' }), 'log.csv');
  const query = new URLSearchParams({ stack: stackName, kind: 'stack-log', cycle: '100' });
  const sent = await fetch(`${address}/api/v1/imports?${query}`, { method: 'POST', body });
  if (!sent.ok) throw new Error(`The log was answered with ${sent.status}: ${await sent.text()}`);
  await ended(address, ((await sent.json()) as Item).id);
  const log = await firstOf(address, '/stack-logs');
  const job = await ask<Item>(address, '/stack-log-evaluations', {
    logIds: [log],
    description: logStudy(),
    fit: ['r0'],
  });
  await ended(address, job.id);
  await ask(address, '/supply-parts', {
    kind: 'converter',
    name: 'half ratio',
    description: {
      ratioStage: { ratio: 2, maxPathCurrentA: 6, outputResistanceOhm: 0.011, fixedLossCurrentA: 0.02 },
    },
  });
  return { log, evaluation: await firstOf(address, '/stack-log-evaluations') };
}

/** Waits until a job is done. */
async function ended(address: string, id: number): Promise<void> {
  for (let tries = 0; tries < 300; tries++) {
    const job = await ask<{ state: string; error?: unknown }>(address, `/jobs/${id}`);
    if (job.state === 'done') return;
    if (job.state === 'failed' || job.state === 'cancelled')
      throw new Error(`Job ${id} is ${job.state}: ${JSON.stringify(job)}`);
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
  throw new Error(`Job ${id} does not end.`);
}

/** Ids of one thing of every kind in the demonstration, which has gone the whole way. */
export async function doTheJob(address: string): Promise<Record<string, number>> {
  const lot = await firstOf(address, '/lots');
  const cell = await firstOf(address, `/lots/${lot}/cells`);
  const stacks = await ask<{ items: Item[] }>(address, '/stacks');
  const logged = stacks.items[0]?.name ?? '';
  return {
    ...(await doTheLog(address, logged)),
    lot,
    cell,
    type: await firstOf(address, '/cell-types'),
    test: await longestPulseTest(address),
    measurement: await firstOf(address, `/cells/${cell}/measurements`),
    pairing: await firstOf(address, '/pairings'),
    stack: await firstOf(address, '/stacks'),
    study: await firstOf(address, '/charge-studies'),
  };
}
