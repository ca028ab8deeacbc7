import { MessageChannel } from 'node:worker_threads';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import runTask from '../../server/jobs/worker.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

let test: TestApp;
let filled: FilledStore;
beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
});
afterAll(async () => test.close());

const path = '/api/v1/charge-studies';
const post = (to: string, body: object) => request(test.app).post(`${path}${to}`).send(body);

/** Does what the runner does with a waiting job. */
async function runJob(jobId: number, input: Record<string, unknown>): Promise<unknown> {
  const { port1, port2 } = new MessageChannel();
  try {
    return await runTask({
      database: test.context.store.place,
      jobId,
      workerId: '1:1',
      kind: 'charge-study',
      input,
      actorName: 'operator',
      port: port2,
      stop: new Int32Array(new SharedArrayBuffer(4)),
      crew: null,
    });
  } finally {
    port1.close();
  }
}

describe('charge studies over HTTP', () => {
  it('are drafted from the fitted parameters of a stack, in its order', async () => {
    const answer = await post('/draft', { stackId: filled.stackId });
    expect(answer.status).toBe(200);
    const { description, notes } = answer.body;
    expect(description.cells).toHaveLength(2);
    expect(description.cells[0].soc.length).toBeGreaterThan(2);
    expect(description.cells[0].branches).toHaveLength(2);
    expect(description.phases.stages[0].rateC).toBeLessThanOrEqual(1);
    expect(notes.map((note: { code: string }) => note.code)).toContain('parameters');
  });

  it('say at which temperature the resistances were measured, and where capacity and resistances differ in age', async () => {
    const insert = async (cycle: number, value: number) =>
      test.context.store.transaction(async (tx) =>
        runSql(
          tx,
          `INSERT INTO Measurement (cellId, quantity, unit, value, cycle, method, createdAt)
           VALUES (?, 'capacity', 'A.h', ?, ?, 'cycle table', ?)`,
          filled.cellIds[0],
          value,
          cycle,
          test.context.now().toISOString(),
        ),
      );
    const notesOf = async (code: string): Promise<string[]> => {
      const { notes } = (await post('/draft', { stackId: filled.stackId })).body;
      const found = notes.filter((note: { code: string }) => note.code === code);
      return found.map((note: { message: string }) => note.message);
    };
    const one = await notesOf('one-temperature');
    expect(one).toHaveLength(2);
    for (const message of one) expect(message).toContain('at 25 °C only');
    await insert(20, 1.93);
    expect(await notesOf('different-ages')).toEqual([]);
    await insert(600, 1.7);
    const ages = await notesOf('different-ages');
    expect(ages).toHaveLength(1);
    expect(ages[0]).toMatch(/capacity of cycle 600 with resistances of cycle 0/);
  });

  it('name what is missing where a cell was not fitted', async () => {
    const answer = await post('/draft', { cellIds: [filled.bareCellId] });
    expect(answer.status).toBe(422);
    expect(answer.body.code).toBe('cannot-study');
    expect(answer.body.errors[0].field).toMatch(/capacity|circuit/);
    expect((await post('/draft', { stackId: 999 })).status).toBe(404);
    const [cellId] = filled.cellIds;
    const twice = await post('/draft', { cellIds: [cellId, cellId] });
    expect(twice.body.errors).toEqual([
      expect.objectContaining({ field: 'cellIds', value: String(cellId), reason: 'is named twice' }),
    ]);
    const both = await post('/draft', { stackId: filled.stackId, cellIds: [1] });
    expect(both.body).toMatchObject({ status: 400, errors: [{ field: 'stackId' }] });
  });

  it('are computed without being stored', async () => {
    const draft = (await post('/draft', { stackId: filled.stackId })).body.description;
    const description = { ...draft, questions: { stackOnly: true, seriesStepS: 60, rateSearch: {} } };
    const answer = await post('/compute', { description });
    expect(answer.status).toBe(200);
    expect(answer.body.endReason).toBe('end-current');
    expect(answer.body.timesS['0.8']).toBeGreaterThan(600);
    expect(answer.body.cautions).toContain('watch-each-cell');
    expect(answer.body.rateSearch.rateC).toBeGreaterThan(0);
    expect(answer.body.series.timeS.length).toBeGreaterThan(30);
    expect((await request(test.app).get(path)).body.total).toBe(0);
  });

  it('refuse a description that cannot be, by field and value', async () => {
    const draft = (await post('/draft', { stackId: filled.stackId })).body.description;
    const high = { ...draft, cells: draft.cells.map((cell: object) => ({ ...cell, startSoc: 1.2 })) };
    const soc = await post('/compute', { description: high });
    expect(soc.status).toBe(400);
    expect(soc.body.errors[0]).toMatchObject({ field: 'description.cells.0.startSoc', value: '1.2' });
    const above = { ...draft, stack: { ...draft.stack, cellVoltageLimitV: 4.6 } };
    const limit = await post('/compute', { description: above });
    expect(limit.status).toBe(422);
    expect(limit.body.errors[0]).toMatchObject({ field: 'stack.cellVoltageLimitV', value: '4.6' });
  });

  it('are kept with the fits they rest on, computed by their job, listed, and removed by version', async () => {
    const draft = (await post('/draft', { stackId: filled.stackId })).body.description;
    const description = { ...draft, questions: { stackOnly: true, monteCarlo: { draws: 20 } } };
    const made = await post('', { name: 'first charge', description, stackId: filled.stackId });
    expect(made.status).toBe(201);
    expect(made.body).toMatchObject({
      name: 'first charge',
      state: 'waiting',
      result: null,
      stackId: filled.stackId,
    });
    expect(made.body.fitIds.length).toBeGreaterThan(0);
    expect(made.body.cellIds).toHaveLength(2);
    const { id, jobId } = made.body;
    const job = await request(test.app).get(`/api/v1/jobs/${jobId}`);
    expect(job.body).toMatchObject({ kind: 'charge-study', state: 'waiting', input: { studyId: id } });

    expect(await runJob(jobId, job.body.input)).toEqual({ studyId: id });
    const read = await request(test.app).get(`${path}/${id}`);
    expect(read.body.state).toBe('done');
    expect(read.body.result.monteCarlo.draws).toBe(20);
    expect(read.body.result.stackOnly.cells).toHaveLength(2);
    const again = await post('/compute', { description: read.body.description });
    expect(again.body).toEqual(read.body.result);

    const list = await request(test.app).get(path).query({ stackId: filled.stackId });
    expect(list.body).toMatchObject({ total: 1, items: [{ id, name: 'first charge', state: 'done' }] });
    expect(list.body.items[0].result).toBeUndefined();
    const stale = await request(test.app).delete(`${path}/${id}`).set('If-Match', '"1"');
    expect(stale.status).toBe(412);
    const gone = await request(test.app).delete(`${path}/${id}`).set('If-Match', `"${read.body.version}"`);
    expect(gone.status).toBe(204);
    expect((await request(test.app).get(`${path}/${id}`)).status).toBe(404);
  });

  it('keep one cell too, and refuse a description of other cells than the subject', async () => {
    const cellIds = [filled.cellIds[0]];
    const draft = (await post('/draft', { cellIds })).body.description;
    const made = await post('', { name: 'one cell', description: draft, cellIds });
    expect(made.body).toMatchObject({ stackId: null, cellIds });
    const other = await post('', { name: 'two', description: draft, stackId: filled.stackId });
    expect(other.status).toBe(422);
    expect(other.body.errors[0]).toMatchObject({ field: 'description.cells', expected: '2 cells' });
  });
});
