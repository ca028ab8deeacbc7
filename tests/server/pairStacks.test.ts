import request from 'supertest';
import { afterAll, beforeAll, describe, expect, test as it } from 'vitest';
import type { StoredPairing } from '../../server/contract/pairings.ts';
import { insertMeasurements, listCellMeasurements } from '../../server/store/measurements.ts';
import { decidePair } from '../../server/use-cases/pairing/decidePair.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { fillStore } from './exportStore.ts';
import { makeMeasuredLot, usualCriteria } from './pairedLot.ts';

let test: TestApp;
let lotId: number;
let idOf: Record<string, number>;
let run: StoredPairing;
beforeAll(async () => {
  test = await openTestApp();
  ({ lotId, idOf } = await makeMeasuredLot(test));
  run = await runPairing(test.context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
  for (const pair of run.pairs.slice(0, 2))
    await decidePair(test.context, pair.id, pair.version, { state: 'accepted', reason: null });
});
afterAll(async () => test.close());

const api = (path: string) => `/api/v1${path}`;
const plan = (body: object) => request(test.app).post(api('/stacks')).send(body);
const change = (id: number, version: number, body: object) =>
  request(test.app)
    .patch(api(`/stacks/${id}`))
    .set('If-Match', `"${version}"`)
    .send(body);
const cellState = async (serial: string) =>
  (await request(test.app).get(api(`/cells/${idOf[serial]}`))).body.state;

describe('stacks over HTTP', () => {
  it('are planned from an accepted pair with the values that chose them, and take the cells', async () => {
    const made = await plan({ pairId: run.pairs[0].id });
    expect(made.status).toBe(201);
    expect(made.body).toMatchObject({ name: 'a + b', state: 'planned', pairingId: run.id, builtAt: null });
    expect(made.body.cells[0]).toMatchObject({
      serial: 'a',
      chosenBy: {
        capacity: { value: 2.5, unit: 'A.h', standardUncertainty: 0.004 },
        'R(10 s)': { value: 0.02, unit: 'Ohm', standardUncertainty: 0.0001 },
      },
    });
    expect(await cellState('a')).toBe('in-stack');
    const stored = (await request(test.app).get(api(`/pairings/${run.id}`))).body as StoredPairing;
    expect(stored.pairs[0].stackId).toBe(made.body.id);
  });

  it('are refused for a proposed pair, twice for one pair, and under a name that is taken', async () => {
    expect((await plan({ pairId: run.pairs[2].id })).body).toMatchObject({
      status: 409,
      errors: [{ reason: 'the pair is proposed' }],
    });
    expect((await plan({ pairId: run.pairs[0].id })).status).toBe(409);
    expect((await plan({ pairId: run.pairs[1].id, name: 'a + b' })).body.errors[0].field).toBe('name');
    expect((await plan({ pairId: 999 })).status).toBe(404);
  });

  it('let the decision about their pair rest while they exist', async () => {
    const answer = await request(test.app)
      .patch(api(`/pairs/${run.pairs[0].id}`))
      .set('If-Match', '"3"')
      .send({ state: 'rejected' });
    expect(answer.body).toMatchObject({ status: 409, code: 'in-use' });
  });

  it('can be undone while they are planned: the cells are available again and the pair stays accepted', async () => {
    const made = await plan({ pairId: run.pairs[1].id, name: 'to be undone' });
    const path = api(`/stacks/${made.body.id}`);
    expect((await request(test.app).delete(path)).status).toBe(428);
    expect((await request(test.app).delete(path).set('If-Match', '"7"')).status).toBe(412);
    expect((await request(test.app).delete(path).set('If-Match', '"1"')).status).toBe(204);
    expect((await request(test.app).get(path)).status).toBe(404);
    expect(await cellState('c')).toBe('available');
    const pair = await request(test.app).get(api(`/pairs/${run.pairs[1].id}`));
    expect(pair.body).toMatchObject({ state: 'accepted', stackId: null });
  });

  it('cannot be undone once built, keep the values they were chosen by, and set their cells aside when retired', async () => {
    const [stack] = (await request(test.app).get(api('/stacks')).query({ state: 'planned' })).body.items;
    expect((await change(stack.id, 1, { state: 'retired' })).status).toBe(409);
    const built = await change(stack.id, 1, {
      state: 'built',
      note: 'welded',
      checkUpDueAt: '2026-08-01T00:00:00.000Z',
    });
    expect(built.body).toMatchObject({
      state: 'built',
      version: 2,
      builtAt: '2026-02-01T08:00:00.000Z',
      note: 'welded',
    });
    expect((await request(test.app).get(api(`/pairs/${run.pairs[0].id}`))).body.state).toBe('built');
    const undone = await request(test.app)
      .delete(api(`/stacks/${stack.id}`))
      .set('If-Match', '"2"');
    expect(undone.body).toMatchObject({ status: 409, code: 'in-use' });
    const [capacity] = await listCellMeasurements(test.context.store, idOf.a);
    await insertMeasurements(test.context.store, [{ ...capacity, value: 2.2 }], '2026-02-02T08:00:00.000Z');
    const read = await request(test.app).get(api(`/stacks/${stack.id}`));
    expect(read.body.cells[0].chosenBy.capacity.value).toBe(2.5);
    const retired = await change(stack.id, 2, { state: 'retired' });
    expect(retired.body.state).toBe('retired');
    const cell = (await request(test.app).get(api(`/cells/${idOf.a}`))).body;
    expect(cell).toMatchObject({ state: 'set-aside', stateReason: 'taken out of the stack a + b' });

    const again = await change(stack.id, 3, { state: 'built' });
    expect(again.body).toMatchObject({ state: 'built', builtAt: '2026-02-01T08:00:00.000Z' });
    expect(await cellState('a')).toBe('in-stack');
    const unbuilt = await change(stack.id, 4, { state: 'planned' });
    expect(unbuilt.body).toMatchObject({ state: 'planned', builtAt: null });
    expect((await request(test.app).get(api(`/pairs/${run.pairs[0].id}`))).body.state).toBe('accepted');
    await change(stack.id, 5, { state: 'built' });
    await change(stack.id, 6, { state: 'retired' });
  });

  it('that were retired more than a day ago, or whose cells were used since, stay retired', async () => {
    const [stack] = (await request(test.app).get(api('/stacks')).query({ state: 'retired' })).body.items;
    await runSql(
      test.context.store,
      `UPDATE Cell SET state = 'available', stateReason = NULL WHERE id = ?`,
      idOf.a,
    );
    expect((await change(stack.id, stack.version, { state: 'built' })).body).toMatchObject({
      status: 409,
      detail: 'The cell a is no longer set aside from this stack.',
    });
    await runSql(
      test.context.store,
      `UPDATE AuditEntry SET at = '2026-01-30T00:00:00.000Z' WHERE action = 'stack.retired'`,
    );
    expect((await change(stack.id, stack.version, { state: 'built' })).body.errors).toMatchObject([
      { field: 'state', expected: 'within 24 hours' },
    ]);
    await runSql(
      test.context.store,
      `UPDATE Cell SET state = 'set-aside', stateReason = 'taken out of the stack a + b' WHERE id = ?`,
      idOf.a,
    );
  });

  it('tell their history with pair and run, and keep notes', async () => {
    const [stack] = (await request(test.app).get(api('/stacks')).query({ state: 'retired' })).body.items;
    const history = await request(test.app).get(api(`/stacks/${stack.id}/history`));
    const actions = history.body.items.map((entry: { action: string }) => entry.action);
    expect(actions).toEqual(
      expect.arrayContaining([
        'pairing.made',
        'pair.accepted',
        'stack.planned',
        'stack.built',
        'stack.retired',
      ]),
    );
    const note = await request(test.app)
      .post(api(`/stacks/${stack.id}/notes`))
      .send({ text: 'device 7' });
    expect(note.status).toBe(201);
    expect((await request(test.app).get(api(`/stacks/${stack.id}/notes`))).body.items[0].text).toBe(
      'device 7',
    );
    expect((await request(test.app).get(api('/stacks/999/history'))).status).toBe(404);
  });
});

describe('the charge of a pair', () => {
  it('is simulated from the fitted parameters and names the cell that limits it', async () => {
    const fitted = await openTestApp();
    try {
      const { pairId } = await fillStore(fitted.context);
      const { body, status } = await request(fitted.app).get(api(`/pairs/${pairId}/charge`));
      expect(status).toBe(200);
      const serials = body.result.cells.map((cell: { name: string }) => cell.name);
      expect(serials).toContain(body.limitsCharge);
      const held = serials.indexOf(body.limitsCharge);
      const limits = body.result.cells.map((cell: { peakVoltageV: number }) => cell.peakVoltageV);
      expect(limits[held]).toBe(Math.max(...limits));
      // Watching the stack alone lets the limiting cell go above what it reaches when each cell is watched.
      expect(body.result.stackOnly.cells[held].peakVoltageV).toBeGreaterThan(limits[held]);
      expect(body.chargeCurrentA).toBeGreaterThan(0);
    } finally {
      await fitted.close();
    }
  });

  it('is refused where the cells were not fitted, naming what is missing', async () => {
    const answer = await request(test.app).get(api(`/pairs/${run.pairs[0].id}/charge`));
    expect(answer.body).toMatchObject({ status: 422, code: 'cannot-study' });
    expect((await request(test.app).get(api('/pairs/999/charge'))).status).toBe(404);
  });
});
