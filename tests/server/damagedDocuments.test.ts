import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inOrder } from '../../server/inOrder.ts';
import { putJob } from '../../server/jobs/queue.ts';
import { runSql, selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

/** Where documents are stored, by table and column. */
const documents = [
  ['SourceFile', 'reportJson'],
  ['Fit', 'resultJson'],
  ['Fit', 'settingsJson'],
  ['Fit', 'inputsJson'],
  ['Pairing', 'criteriaJson'],
  ['Pairing', 'resultJson'],
  ['Pair', 'detailJson'],
  ['StackCell', 'chosenJson'],
  ['Record', 'columnsJson'],
  ['Job', 'inputJson'],
  ['AuditEntry', 'detailJson'],
] as const;

describe('a stored document that cannot be read', () => {
  let test: TestApp;
  let filled: FilledStore;
  beforeAll(async () => {
    test = await openTestApp();
    filled = await fillStore(test.context);
    await putJob(test.context, 'evaluate-lot', { lotId: filled.lotId, onlyNotEvaluated: true });
  });
  afterAll(async () => test.close());

  const get = async (path: string) => request(test.app).get(`/api/v1${path}`);

  const lists = () => [
    '/overview',
    '/imports',
    '/jobs',
    '/tests',
    '/cells',
    '/lots',
    `/lots/${filled.lotId}/cells`,
    '/pairings',
    '/stacks',
    '/charge-studies',
    '/exports',
  ];
  const things = () => [
    `/lots/${filled.lotId}`,
    `/lots/${filled.lotId}/columns`,
    `/lots/${filled.lotId}/statistics`,
    `/lots/${filled.lotId}/warnings`,
    `/parameter-sets/lot/${filled.lotId}`,
    `/lots/${filled.lotId}/ageing`,
    `/cells/${filled.cellIds[0]}/tables`,
    `/cells/${filled.cellIds[0]}/ageing`,
    `/pairs/${filled.pairId}`,
    `/stacks/${filled.stackId}/life`,
    `/stacks/${filled.stackId}/history`,
    `/tests/${filled.testIds[0]}/evaluations`,
    `/cell-types/${filled.cellTypeId}/temperature`,
    `/cell-types/${filled.cellTypeId}/charge-rates`,
    `/cells/${filled.cellIds[0]}`,
    `/cells/${filled.cellIds[0]}/history`,
    `/parameter-sets/cell/${filled.cellIds[0]}`,
    `/tests/${filled.testIds[0]}`,
    `/tests/${filled.testIds[0]}/evaluation`,
    `/pairings/${filled.pairingId}`,
    `/stacks/${filled.stackId}`,
    '/imports/1',
    '/jobs/1',
  ];

  it('is a named problem wherever it is needed, never an unnamed failure, and every list still shows the rest', async () => {
    const named: string[] = [];
    await damaged(documents, async () => {
      for (const path of lists()) expect((await get(path)).status, path).toBe(200);
      for (const path of things()) {
        const { status, body } = await get(path);
        if (status === 200 || status === 404) continue;
        expect(body, path).toMatchObject({
          status: 503,
          code: 'storage-damaged',
          detail: expect.stringMatching(/^The stored .+ cannot be read: /s),
        });
        named.push(path);
      }
    });
    expect(named).toEqual(
      expect.arrayContaining([
        '/imports/1',
        '/jobs/1',
        `/pairings/${filled.pairingId}`,
        `/tests/${filled.testIds[0]}/evaluation`,
      ]),
    );
  });

  it('is named in the list where it would stand', async () => {
    await runSql(test.context.store, 'UPDATE SourceFile SET headJson = NULL');
    await damaged([['SourceFile', 'reportJson']], async () => {
      const { body } = await get('/imports');
      expect(body.unreadable.length).toBeGreaterThan(0);
      for (const { id, reason } of body.unreadable)
        expect(reason).toMatch(new RegExp(`^The stored report of import ${id} cannot be read`));
    });
    expect((await get('/imports')).body).not.toHaveProperty('unreadable');
  });

  it('leaves the rest of its lot exportable', async () => {
    const { id } = (await selectOne<{ id: number }>(
      test.context.store,
      'SELECT id FROM Fit WHERE testId = ?',
      filled.testIds[0],
    ))!;
    await runSql(test.context.store, `UPDATE Fit SET resultJson = '{"cut' WHERE id = ?`, id);
    const { status, body } = await get(`/parameter-sets/lot/${filled.lotId}`);
    expect(status).toBe(200);
    const [first, second] = filled.cellIds.map((cellId) =>
      body.cells.find((cell: { id: number }) => cell.id === cellId),
    );
    expect(first.leftOut).toEqual([expect.objectContaining({ fitId: id, reason: 'does-not-match-schema' })]);
    expect(second.circuits.length).toBeGreaterThan(0);
  });

  /** Every document of these columns cut off in the middle, while `use` runs. */
  async function damaged(
    columns: readonly (readonly [table: string, column: string])[],
    use: () => Promise<void>,
  ): Promise<void> {
    if (columns.length === 0) return use();
    const { store } = test.context;
    const [[table, column], ...others] = columns;
    const key = table === 'StackCell' ? ['stackId', 'position'] : ['id'];
    const rows = await selectAll<Record<string, string | number>>(
      store,
      `SELECT ${key.join()}, ${column} AS text FROM ${table}`,
    );
    await runSql(store, `UPDATE ${table} SET ${column} = '{"cut'`);
    try {
      await damaged(others, use);
    } finally {
      await inOrder(rows, async ({ text, ...at }) => {
        const where = key.map((name) => `${name} = ?`).join(' AND ');
        await runSql(store, `UPDATE ${table} SET ${column} = ? WHERE ${where}`, text, ...Object.values(at));
      });
    }
  }
});
