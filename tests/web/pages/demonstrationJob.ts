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

/** Ids of one thing of every kind in the demonstration, which has gone the whole way. */
export async function doTheJob(address: string): Promise<Record<string, number>> {
  const lot = await firstOf(address, '/lots');
  const cell = await firstOf(address, `/lots/${lot}/cells`);
  return {
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
