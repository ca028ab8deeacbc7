// A program of someone else against the generated types: it compiles only while the description says what it uses.
import createClient from 'openapi-fetch';
import type { components, paths } from './generated.ts';

const client = createClient<paths>({ baseUrl: process.argv[2] });

/** Reads every lot by cursor. */
async function readLots(): Promise<components['schemas']['Lot'][]> {
  const lots: components['schemas']['Lot'][] = [];
  let cursor: string | undefined;
  do {
    const { data, error } = await client.GET('/lots', { params: { query: { limit: 1, cursor } } });
    if (error) throw new Error(`${error.code}: ${error.detail}`);
    lots.push(...data.items);
    cursor = data.nextCursor ?? undefined;
  } while (cursor !== undefined);
  return lots;
}

const [lot] = await readLots();
if (!lot) throw new Error('no lot');
const renamed = await client.PATCH('/lots/{id}', {
  params: { path: { id: lot.id }, header: { 'If-Match': `"${lot.version}"` } },
  body: { note: 'read by a generated client' },
});
if (renamed.error) throw new Error(renamed.error.detail);
const made = await client.POST('/exports', {
  params: { header: { 'Idempotency-Key': 'generated-client-1' } },
  body: { format: 'parameters-json', subjectKind: 'lot', subjectId: lot.id },
});
if (made.error) throw new Error(made.error.detail);
const parameters = await client.GET('/parameter-sets/{kind}/{id}', {
  params: { path: { kind: 'lot', id: lot.id } },
});
if (parameters.error) throw new Error(parameters.error.detail);
const absent = await client.GET('/lots/{id}', { params: { path: { id: 999999 } } });
console.log(
  JSON.stringify({
    name: renamed.data.name,
    note: renamed.data.note,
    sha256: made.data.sha256,
    cells: parameters.data.cells.map((cell) => cell.capacity.value),
    absent: absent.error?.code,
  }),
);
