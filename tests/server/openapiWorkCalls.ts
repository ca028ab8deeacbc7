import type { Context } from '../../server/context.ts';
import { inTransaction } from '../../server/context.ts';
import { createPairing } from '../../server/contract/pairings.ts';
import { inOrder } from '../../server/inOrder.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { addMeasuredCell, type FilledStore, pulseFile, wideCriteria } from './exportStore.ts';
import type { ApiCall } from './openapiCalls.ts';

const lotName = 'Los "A", Teil 1/2';

/** Four more measured cells and a pairing of them with two proposed pairs. */
async function pairMoreCells(context: Context, lotId: number) {
  const cellIds = await inTransaction(
    context,
    async (context) =>
      await inOrder(
        [1, 2, 3, 4],
        async (n) => (await addMeasuredCell(context, lotId, 1, `P-${n}`, 1.9 + 0.01 * n, 1)).cellId,
      ),
  );
  return runPairing(context, createPairing.parse({ cellIds, criteria: wideCriteria }));
}

/** Calls about pairings, pairs and stacks: exchange, decide, plan, take back. */
export async function pairingCalls(
  context: Context,
  { lotId, stackId, pairId }: FilledStore,
): Promise<ApiCall[]> {
  const pairing = await pairMoreCells(context, lotId);
  const [first, second] = pairing.pairs.map((pair) => pair.id);
  const planned = stackId + 1;
  return [
    { route: 'get /pairings', query: { lotId, limit: 1 } },
    { route: 'get /pairings/{id}', path: { id: pairing.id } },
    { route: 'post /pairings/preview', body: { lotIds: [lotId], criteria: wideCriteria } },
    { route: 'post /pairings', body: { lotIds: [lotId], criteria: wideCriteria }, status: 202 },
    {
      route: 'post /pairings/{id}/swap',
      path: { id: pairing.id },
      headers: { 'If-Match': `"${pairing.version}"` },
      body: { pairId: first, withPairId: second },
    },
    {
      route: 'patch /pairs/{id}',
      path: { id: first },
      headers: { 'If-Match': '"2"' },
      body: { state: 'accepted' },
    },
    {
      route: 'patch /pairs/{id}',
      path: { id: second },
      headers: { 'If-Match': '"2"' },
      body: { state: 'accepted' },
    },
    { route: 'get /pairs/{id}', path: { id: first } },
    { route: 'get /pairs/{id}/charge', path: { id: pairId } },
    { route: 'post /stacks', body: { pairId: first, name: 'one' }, status: 201 },
    { route: 'post /stacks', body: { pairId: second, name: 'other' }, status: 201 },
    { route: 'get /stacks', query: { state: 'planned' } },
    { route: 'get /stacks/{id}', path: { id: stackId } },
    {
      route: 'patch /stacks/{id}',
      path: { id: planned },
      headers: { 'If-Match': '"1"' },
      body: { note: 'for the second unit' },
    },
    { route: 'delete /stacks/{id}', path: { id: planned + 1 }, headers: { 'If-Match': '"1"' }, status: 204 },
    { route: 'get /stacks/{id}/history', path: { id: stackId } },
    { route: 'post /stacks/{id}/notes', path: { id: stackId }, body: { text: 'welded' }, status: 201 },
    { route: 'get /stacks/{id}/notes', path: { id: stackId } },
    {
      route: 'post /stacks/{id}/travellers',
      path: { id: stackId },
      body: { jointsOhm: 0.0004, steps: ['no-damage'] },
      status: 201,
    },
    { route: 'get /stacks/{id}/travellers', path: { id: stackId } },
  ];
}

const csv = (bytes: string) => ({ type: 'text/csv', bytes: Buffer.from(bytes) });

/** Calls that only put a job. */
export function backgroundCalls(lotId: number): ApiCall[] {
  return [
    { route: 'post /backups', body: {}, status: 202 },
    {
      route: 'post /exports/background',
      body: { format: 'parameters-json', subjectKind: 'lot', subjectId: lotId },
      status: 202,
    },
  ];
}

/** Calls about imports, column maps and name patterns. @param undoId an import that may be taken back */
export function importCalls(undoId: number): ApiCall[] {
  const header = ['time_s', 'voltage_V', 'current_A', 'temperature_C'];
  return [
    { route: 'get /imports', query: { state: 'taken' } },
    { route: 'get /imports/{id}', path: { id: undoId } },
    {
      route: 'post /imports/preview',
      query: { name: 'R-002 pulses.csv', lot: lotName },
      raw: csv(pulseFile()),
    },
    {
      route: 'post /imports',
      query: { name: 'R-003 pulses.csv', lot: lotName },
      headers: { 'Idempotency-Key': 'upload-1' },
      raw: csv(pulseFile()),
      status: 202,
    },
    { route: 'get /imports/{id}/consequences', path: { id: undoId } },
    { route: 'post /imports/{id}/undo', path: { id: undoId } },
    { route: 'post /imports/{id}/restore', path: { id: undoId }, status: 409 },
    {
      route: 'post /column-maps',
      body: { name: 'bench 1', header, reading: { currentSign: 'charge-positive' } },
      status: 201,
    },
    { route: 'get /column-maps' },
    { route: 'get /column-maps/file' },
    {
      route: 'post /column-maps/file',
      body: {
        schemaVersion: 1,
        maps: [{ name: 'of another lab', fingerprint: '0'.repeat(32), reading: { columns: { time: 't' } } }],
      },
      status: 201,
    },
    { route: 'delete /column-maps/{id}', path: { id: 1 }, status: 204 },
    { route: 'post /name-patterns', body: { name: 'usual', pattern: '{cell}_{kind}.csv' }, status: 201 },
    { route: 'get /name-patterns' },
    { route: 'delete /name-patterns/{id}', path: { id: 1 }, status: 204 },
    {
      route: 'post /name-patterns/try',
      body: { pattern: '{cell}_{kind}.csv', names: ['A1_pulse.csv', 'x'] },
    },
  ];
}

/** Calls about a test whose samples come while it runs. @param testId identifier that the opened test will get */
export function liveCalls(cellId: number, testId: number): ApiCall[] {
  return [
    { route: 'post /cells/{id}/live-tests', path: { id: cellId }, body: { kind: 'rest' }, status: 201 },
    {
      route: 'post /tests/{id}/samples',
      path: { id: testId },
      headers: { 'Idempotency-Key': 'batch-1' },
      body: { firstRow: 0, timeS: [0, 1, 2], voltageV: [3.7, 3.7001, 3.7002], currentA: [0, 0, 0] },
    },
    {
      route: 'post /live-samples',
      body: {
        batches: [{ testId, key: 'batch-2', firstRow: 3, timeS: [3], voltageV: [3.7], currentA: [0] }],
      },
    },
    { route: 'get /tests/{id}/samples', path: { id: testId } },
    { route: 'post /tests/{id}/close', path: { id: testId } },
  ];
}

/** Calls about jobs; nobody works here, so a job waits until it is cancelled. */
export function jobCalls({ lotId }: FilledStore): ApiCall[] {
  return [
    { route: 'post /lots/{id}/evaluate', path: { id: lotId }, body: { again: false }, status: 202 },
    { route: 'get /jobs', query: { state: 'waiting' } },
    { route: 'get /jobs/{id}', path: { id: 1 } },
    { route: 'post /jobs/{id}/cancel', path: { id: 1 } },
    { route: 'get /jobs/{id}/events', path: { id: 1 } },
    { route: 'post /jobs/{id}/retry', path: { id: 1 } },
  ];
}
