import { MessageChannel } from 'node:worker_threads';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, test as it } from 'vitest';
import { mostCellsToPair, type StoredPair, type StoredPairing } from '../../server/contract/pairings.ts';
import runTask from '../../server/jobs/worker.ts';
import { findPairRow } from '../../server/store/pairings.ts';
import { giveUpRun, takeJob } from '../../server/store/runningJobs.ts';
import { decidePair } from '../../server/use-cases/pairing/decidePair.ts';
import { readPairing } from '../../server/use-cases/pairing/readPairing.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { makeLot } from '../support/basics.ts';
import { runSql } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeMeasuredLot, usualCells, usualCriteria } from './pairedLot.ts';

let test: TestApp;
let lotId: number;
let idOf: Record<string, number>;
let run: StoredPairing;
beforeAll(async () => {
  test = await openTestApp();
  ({ lotId, idOf } = await makeMeasuredLot(test, [...usualCells, ['w', 2.5, 0.02, 'dented in transport']]));
  run = await runPairing(test.context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
});
afterAll(async () => test.close());

const api = (path: string) => `/api/v1${path}`;
const pairOf = (serial: string): StoredPair =>
  run.pairs.find((pair) => pair.cells.some((cell) => cell.serial === serial))!;
/** Changes a pair as it stands now. */
const decide = async (id: number, state: string, reason?: string) =>
  request(test.app)
    .patch(api(`/pairs/${id}`))
    .set('If-Match', `"${await versionOf(id)}"`)
    .send({ state, reason });
const versionOf = async (pairId: number) => (await findPairRow(test.context.store, pairId))?.version ?? 1;

describe('a stored pairing run', () => {
  it('pairs the available cells by their usual columns and keeps proof, criteria and measurements', async () => {
    expect(run.pairs.map(({ cells, state }) => [...cells.map((cell) => cell.serial), state])).toEqual([
      ['a', 'b', 'proposed'],
      ['c', 'd', 'proposed'],
      ['e', 'f', 'proposed'],
    ]);
    expect(run.result.certificate).toMatchObject({ proven: true, mostPairs: 3 });
    expect(run.result.criteria.features.map(({ column }) => column)).toEqual([
      'capacity/25C',
      'resistance/10s/charge/soc50/25C',
    ]);
    expect(run.result.unpaired).toMatchObject([
      { cell: 'w', reason: 'warning-sign', value: 'damage-noted' },
      { cell: 'g', reason: 'odd-count' },
    ]);
    const input = run.inputs.find(({ cell }) => cell === 'a')!;
    expect(input.cellId).toBe(idOf.a);
    const origin = await request(test.app).get(api(`/measurements/${input.measurementIds[1]}/origin`));
    expect(origin.body.measurement).toMatchObject({ quantity: 'resistance', value: 0.02 });
  });

  it('takes no more cells of lots than it takes cells by number, and names the bound', async () => {
    const { lot } = await makeLot(test.context, { lot: 'huge' });
    await runSql(
      test.context.store,
      `INSERT INTO Cell (lotId, serial, createdAt)
        WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ${mostCellsToPair + 1})
        SELECT ${lot.id}, 'H-' || i, '2026-02-01T08:00:00.000Z' FROM n`,
    );
    for (const path of ['/pairings', '/pairings/preview']) {
      const refused = await request(test.app)
        .post(api(path))
        .send({ lotIds: [lot.id], criteria: usualCriteria() });
      expect([refused.status, refused.body.code]).toEqual([422, 'cannot-pair']);
      expect(refused.body.errors).toMatchObject([
        { field: 'lotIds', value: '20001', expected: expect.stringContaining('20000') },
      ]);
    }
  });

  it('is read, listed and counted over HTTP', async () => {
    const read = await request(test.app).get(api(`/pairings/${run.id}`));
    expect(read.status).toBe(200);
    expect(read.body).toEqual(JSON.parse(JSON.stringify(run)));
    const list = await request(test.app).get(api('/pairings')).query({ lotId });
    expect(list.body.items[0]).toMatchObject({
      id: run.id,
      name: 'fast charging',
      proven: true,
      counts: { proposed: 3, accepted: 0, rejected: 0, built: 0, unpaired: 2 },
    });
    expect((await request(test.app).get(api('/pairings')).query({ lotId: 999 })).body.total).toBe(0);
    expect((await request(test.app).get(api('/pairings/999'))).status).toBe(404);
  });

  it('is put into the queue by a request, and refused at once where it cannot run', async () => {
    const queued = await request(test.app)
      .post(api('/pairings'))
      .send({ lotIds: [lotId], criteria: usualCriteria() });
    expect(queued.status).toBe(202);
    expect(queued.body).toMatchObject({ kind: 'pair', state: 'waiting' });
    const send = (body: object) => request(test.app).post(api('/pairings')).send(body);
    expect((await send({ criteria: usualCriteria() })).body.errors[0].field).toBe('lotIds');
    expect((await send({ lotIds: [999], criteria: usualCriteria() })).status).toBe(404);
    const locked = await send({
      lotIds: [lotId],
      criteria: usualCriteria({ locks: { together: [['a', 'zz']] } }),
    });
    expect(locked.body).toMatchObject({ status: 422, code: 'cannot-pair' });
    const column = usualCriteria().features.map((feature) => ({ ...feature, column: 'mass' }));
    expect((await send({ lotIds: [lotId], criteria: { ...usualCriteria(), features: column } })).status).toBe(
      202,
    );
    const zero = usualCriteria().features.map((f) => ({ ...f, tolerance: { kind: 'absolute', value: 0 } }));
    const wrong = await send({ lotIds: [lotId], criteria: { ...usualCriteria(), features: zero } });
    expect(wrong.body).toMatchObject({
      status: 400,
      errors: [{ field: 'criteria.features.0.tolerance.value' }, {}],
    });
  });

  it('is previewed without being kept: acceptable pairs and the most at once', async () => {
    const features = usualCriteria().features.map((feature) => ({
      ...feature,
      pairLimit: { kind: 'absolute', value: feature.quantity === 'capacity' ? 0.005 : 1 },
    }));
    const answer = await request(test.app)
      .post(api('/pairings/preview'))
      .send({ lotIds: [lotId], criteria: { ...usualCriteria(), features } });
    expect(answer.body).toEqual({
      cellsPerStack: 2,
      cells: 8,
      offered: 7,
      feasiblePairs: 2,
      cellsWithPartner: 4,
      mostPairs: 2,
    });
    expect((await request(test.app).get(api('/pairings'))).body.total).toBe(1);
  });

  it('refuses cells of different types, cells that are not available, and columns in another unit', async () => {
    const other = await makeMeasuredLot(test, usualCells.slice(0, 2), 'lot B');
    const send = (body: object) => request(test.app).post(api('/pairings/preview')).send(body);
    const mixed = await send({ lotIds: [lotId, other.lotId], criteria: usualCriteria() });
    expect(mixed.body.errors[0].reason).toBe('the cells are of different types');
    await request(test.app)
      .patch(api(`/cells/${other.idOf.a}`))
      .set('If-Match', '"1"')
      .send({ state: 'set-aside', stateReason: 'kept for reference' });
    const aside = await send({ cellIds: [other.idOf.a, other.idOf.b], criteria: usualCriteria() });
    expect(aside.body.errors[0]).toMatchObject({ field: 'cellIds', reason: 'cell a is set-aside' });
    const features = [{ ...usualCriteria().features[0], column: 'resistance/10s/charge/soc50/25C' }];
    const unit = await send({ lotIds: [lotId], criteria: { ...usualCriteria(), features } });
    expect(unit.body.errors[0]).toMatchObject({ reason: 'is measured in Ohm', expected: 'a column in A.h' });
  });
});

describe('decisions about pairs', () => {
  it('accept, reject with a reason, and take back, and the run counts them', async () => {
    const before = await request(test.app).get(api(`/pairings/${run.id}`));
    const accepted = await decide(pairOf('a').id, 'accepted');
    expect(accepted.body).toMatchObject({ state: 'accepted', reason: null });
    const rejected = await decide(pairOf('e').id, 'rejected', 'kept for another device');
    expect(rejected.body).toMatchObject({ state: 'rejected', reason: 'kept for another device' });
    const after = await request(test.app)
      .get(api(`/pairings/${run.id}`))
      .set('If-None-Match', before.headers.etag);
    expect(after.status).toBe(200);
    expect(after.body.version).toBeGreaterThan(before.body.version);
    expect((await decide(pairOf('e').id, 'proposed')).body).toMatchObject({
      state: 'proposed',
      reason: null,
    });
    expect((await decide(999, 'accepted')).status).toBe(404);
    expect((await decide(pairOf('e').id, 'built')).status).toBe(400);
  });

  it('keep the cells of accepted pairs out of later runs, and refuse two accepted pairs with one cell', async () => {
    const cellIds = ['c', 'e'].map((serial) => idOf[serial]);
    const rival = await runPairing(test.context, { lotIds: [], cellIds, criteria: usualCriteria() });
    const later = await runPairing(test.context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
    expect(later.result.cells.map(({ cell }) => cell)).toEqual(['c', 'd', 'e', 'f', 'g', 'w']);
    await decidePair(test.context, pairOf('c').id, await versionOf(pairOf('c').id), {
      state: 'accepted',
      reason: null,
    });
    const [{ id, version }] = rival.pairs;
    await expect(async () =>
      decidePair(test.context, id, version, { state: 'accepted', reason: null }),
    ).rejects.toThrow(/c \+ d is accepted already/);
    await decidePair(test.context, pairOf('c').id, await versionOf(pairOf('c').id), {
      state: 'proposed',
      reason: null,
    });
  });

  it('exchange partners of two pairs with their figures, and go back by the same', async () => {
    const body = { pairId: pairOf('c').id, withPairId: pairOf('e').id };
    const { version } = await readPairing(test.context, run.id);
    const swap = (read: number, pairs = body) =>
      request(test.app)
        .post(api(`/pairings/${run.id}/swap`))
        .set('If-Match', `"${read}"`)
        .send(pairs);
    const first = await swap(version);
    const changed = (first.body as StoredPairing).pairs.slice(1);
    expect(changed.map((pair) => pair.cells.map((cell) => cell.serial))).toEqual([
      ['c', 'f'],
      ['e', 'd'],
    ]);
    expect(changed.every((pair) => pair.exchanged)).toBe(true);
    expect(changed[0].cost).toBeGreaterThan(pairOf('c').cost);
    expect(changed[0].detail.consequences.usableCapacityAh).toBe(2.46);
    const back = (await swap(first.body.version)).body as StoredPairing;
    expect(back.pairs.map((pair) => [pair.cells, pair.exchanged])).toEqual(
      run.pairs.map((p) => [p.cells, false]),
    );
    const self = await swap(back.version, { ...body, withPairId: body.pairId });
    expect(self.status).toBe(400);
  });

  it('need the version that was read, so that nobody accepts partners they have not seen', async () => {
    const [pair, other] = [pairOf('c').id, pairOf('e').id];
    const seen = await request(test.app).get(api(`/pairs/${pair}`));
    const read = await request(test.app).get(api(`/pairings/${run.id}`));
    expect(seen.headers.etag).toBe(`"${seen.body.version}"`);
    const swap = () =>
      request(test.app)
        .post(api(`/pairings/${run.id}/swap`))
        .send({ pairId: pair, withPairId: other });
    const accept = () =>
      request(test.app)
        .patch(api(`/pairs/${pair}`))
        .send({ state: 'accepted' });
    for (const answer of [await swap(), await accept()])
      expect(answer.body).toMatchObject({ status: 428, code: 'if-match-needed' });
    expect((await swap().set('If-Match', read.headers.etag)).status).toBe(200);
    const late = await accept().set('If-Match', seen.headers.etag);
    expect(late.body).toMatchObject({ status: 412, code: 'version-changed' });
    const present = await request(test.app).get(api(`/pairs/${pair}`));
    expect(present.body).toMatchObject({ state: 'proposed', exchanged: true });
    expect(late.body.errors).toEqual([
      {
        field: 'If-Match',
        row: null,
        value: String(seen.body.version),
        reason: 'is no longer the stored version',
        expected: `"${present.body.version}", after reading it again`,
      },
    ]);
    const lateSwap = await swap().set('If-Match', read.headers.etag);
    expect(lateSwap.body).toMatchObject({ status: 412, code: 'version-changed' });
    const exchanged = await request(test.app).get(api(`/pairings/${run.id}`));
    expect((await swap().set('If-Match', exchanged.headers.etag)).status).toBe(200);
  });

  it('refuse an exchange that a limit or a lock of the run forbids', async () => {
    const features = usualCriteria().features.map((feature) => ({
      ...feature,
      pairLimit: { kind: 'absolute' as const, value: 0.05 },
    }));
    const cellIds = ['c', 'd', 'e', 'f'].map((serial) => idOf[serial]);
    const limited = await runPairing(test.context, {
      lotIds: [],
      cellIds,
      criteria: usualCriteria({ features }),
    });
    const [first, second] = limited.pairs;
    return request(test.app)
      .post(api(`/pairings/${limited.id}/swap`))
      .set('If-Match', `"${limited.version}"`)
      .send({ pairId: first.id, withPairId: second.id })
      .expect(422)
      .expect(({ body }) => expect(body.detail).toMatch(/outside the limit of capacity/));
  });
});

it('a queued run is worked off by the job of its kind, whose result names the run', async () => {
  const { lotId: quiet } = await makeMeasuredLot(test, usualCells, 'lot C');
  const queued = await request(test.app)
    .post(api('/pairings'))
    .send({ name: 'in the background', lotIds: [quiet], criteria: usualCriteria() });
  const run = async (workerId: string) => {
    await takeJob(test.context.store, queued.body.id, workerId, '2026-02-01T08:00:00.000Z');
    return runTask({
      database: test.context.store.place,
      jobId: queued.body.id,
      workerId,
      kind: queued.body.kind,
      input: queued.body.input,
      actorName: 'operator',
      port: new MessageChannel().port1,
      stop: new Int32Array(new SharedArrayBuffer(4)),
      crew: null,
    });
  };
  const result = await run('1:1');
  const kept = await request(test.app).get(api(`/pairings/${result.pairingId}`));
  expect(kept.body).toMatchObject({ name: 'in the background', lotIds: [quiet], createdBy: 'operator' });
  expect(kept.body.pairs).toHaveLength(3);
  // Its process ends before it can say so: the next one gives the same run and makes no second one.
  await giveUpRun(test.context.store, queued.body.id, '1:1', '2026-02-01T08:00:00.000Z', 'ended');
  expect(await run('2:1')).toEqual(result);
  const listed = await request(test.app).get(api(`/pairings?lotId=${quiet}`));
  expect(listed.body.items).toHaveLength(1);
});
