import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('lots over HTTP', () => {
  let test: TestApp;
  let cellTypeId: number;
  beforeAll(async () => {
    test = await openTestApp();
    cellTypeId = (await makeLot(test.context)).cellType.id;
  });
  afterAll(async () => test.close());

  it('are made with 201, an ETag and the counts of an empty lot', async () => {
    const answer = await request(test.app)
      .post('/api/v1/lots')
      .send({ name: 'delivery 8', cellTypeId, receivedOn: '2026-01-30' });
    expect(answer.status).toBe(201);
    expect(answer.headers.etag).toBe('"1"');
    expect(answer.body).toMatchObject({
      name: 'delivery 8',
      receivedOn: '2026-01-30',
      counts: { cells: 0, tests: 0, testsNotEvaluated: 0, pairings: 0, stacks: 0 },
    });
  });

  it('name every field of a request that is wrong, with the value that was sent', async () => {
    const answer = await request(test.app)
      .post('/api/v1/lots')
      .send({ name: '', cellTypeId: 'two', receivedOn: 'soon' });
    expect(answer.status).toBe(400);
    expect(answer.headers['content-type']).toContain('application/problem+json');
    expect(answer.body.code).toBe('invalid-request');
    const fields = answer.body.errors.map((e: { field: string; value: string }) => [e.field, e.value]);
    expect(fields).toEqual([
      ['name', '""'],
      ['cellTypeId', '"two"'],
      ['receivedOn', '"soon"'],
    ]);
  });

  it('refuse a name that is taken with 409', async () => {
    const answer = await request(test.app).post('/api/v1/lots').send({ name: 'lot A', cellTypeId });
    expect(answer.status).toBe(409);
    expect(answer.body.errors[0]).toMatchObject({ field: 'name', value: 'lot A', expected: 'another name' });
  });

  it('answer 404 for a lot and for a cell type that is not there', async () => {
    expect((await request(test.app).get('/api/v1/lots/999')).body).toMatchObject({
      status: 404,
      code: 'not-found',
    });
    const answer = await request(test.app).post('/api/v1/lots').send({ name: 'delivery 9', cellTypeId: 999 });
    expect(answer.body).toMatchObject({ status: 404, detail: 'There is no cell type 999.' });
  });

  it('change only with the version that was read: 428 without, 412 with an old one', async () => {
    const made = await request(test.app).post('/api/v1/lots').send({ name: 'delivery 10', cellTypeId });
    const path = `/api/v1/lots/${made.body.id}`;
    expect((await request(test.app).patch(path).send({ note: 'x' })).status).toBe(428);
    for (const none of ['0x1', '1.0', '', '*', '-1', '"1", "2"']) {
      const answer = await request(test.app).patch(path).set('If-Match', none).send({ note: 'x' });
      expect([none, answer.status]).toEqual([none, 428]);
    }
    const changed = await request(test.app).patch(path).set('If-Match', '"1"').send({ note: 'two boxes' });
    expect(changed.status).toBe(200);
    expect(changed.headers.etag).toBe('"2"');
    expect(changed.body).toMatchObject({ note: 'two boxes', name: 'delivery 10', version: 2 });
    const late = await request(test.app).patch(path).set('If-Match', '"1"').send({ note: 'one box' });
    expect(late.body).toMatchObject({ status: 412, code: 'version-changed' });
    expect((await request(test.app).get(path)).body.note).toBe('two boxes');
  });

  it('answer 304 to a reader who has the present version', async () => {
    const made = await request(test.app).post('/api/v1/lots').send({ name: 'delivery 11', cellTypeId });
    const answer = await request(test.app)
      .get(`/api/v1/lots/${made.body.id}`)
      .set('If-None-Match', made.headers.etag);
    expect(answer.status).toBe(304);
  });

  it('are made once for one Idempotency-Key, and the key is refused for another request', async () => {
    const send = (name: string) =>
      request(test.app).post('/api/v1/lots').set('Idempotency-Key', 'k-1').send({ name, cellTypeId });
    const first = await send('delivery 12');
    const again = await send('delivery 12');
    expect(again.status).toBe(201);
    expect(again.body).toEqual(first.body);
    expect((await send('delivery 13')).status).toBe(409);
  });

  it('come in pages by cursor that neither repeat nor leave out a lot', async () => {
    const seen: string[] = [];
    let cursor: string | null = null;
    do {
      const page: request.Response = await request(test.app)
        .get('/api/v1/lots')
        .query({ limit: 2, ...(cursor ? { cursor } : {}) });
      expect(page.status).toBe(200);
      seen.push(...page.body.items.map((lot: { name: string }) => lot.name));
      cursor = page.body.nextCursor;
      expect(page.body.total).toBeGreaterThanOrEqual(seen.length);
    } while (cursor !== null);
    expect(new Set(seen).size).toBe(seen.length);
    expect(seen).toContain('lot A');
    expect(seen).toContain('delivery 12');
  });

  it('refuse a cursor that the service did not give out', async () => {
    const answer = await request(test.app).get('/api/v1/lots').query({ cursor: 'nonsense' });
    expect(answer.body).toMatchObject({ status: 400, errors: [{ field: 'cursor', value: 'nonsense' }] });
  });

  it('can be removed while empty and not when they hold cells', async () => {
    const made = await request(test.app).post('/api/v1/lots').send({ name: 'delivery 14', cellTypeId });
    const cell = await request(test.app).post('/api/v1/cells').send({ lotId: made.body.id, serial: 'X1' });
    expect(cell.status).toBe(201);
    const path = `/api/v1/lots/${made.body.id}`;
    expect((await request(test.app).delete(path).set('If-Match', '"1"')).body.code).toBe('in-use');
    const empty = await request(test.app).post('/api/v1/lots').send({ name: 'delivery 15', cellTypeId });
    expect(
      (await request(test.app).delete(`/api/v1/lots/${empty.body.id}`).set('If-Match', '"1"')).status,
    ).toBe(204);
    expect((await request(test.app).get(`/api/v1/lots/${empty.body.id}`)).status).toBe(404);
  });
});

describe('cell types over HTTP', () => {
  it('refuse limits that do not fit together or that are a stack’s instead of a cell’s', async () => {
    const test = await openTestApp();
    const { cellType } = await makeLot(test.context);
    const answer = await request(test.app)
      .patch(`/api/v1/cell-types/${cellType.id}`)
      .set('If-Match', '"1"')
      .send({ chargeVoltageLimitV: 8.4, dischargeCutoffV: 9, taperCurrentA: 3, maxChargeCurrentA: 2 });
    expect(answer.status).toBe(400);
    expect(answer.body.errors.map((e: { field: string }) => e.field)).toEqual([
      'dischargeCutoffV',
      'chargeVoltageLimitV',
      'taperCurrentA',
    ]);
    expect(
      (await request(test.app).get(`/api/v1/cell-types/${cellType.id}`)).body.chargeVoltageLimitV,
    ).toBeNull();
    await test.close();
  });

  it('say which limits hold and whether the charge rating is the datasheet’s or common practice', async () => {
    const test = await openTestApp();
    const { cellType } = await makeLot(test.context);
    expect(cellType.limits).toMatchObject({
      chargeVoltageLimitV: 4.2,
      maxChargeCurrentA: 2,
      maxChargeCurrentBasis: 'common-practice',
    });
    const rated = await request(test.app)
      .patch(`/api/v1/cell-types/${cellType.id}`)
      .set('If-Match', '"1"')
      .send({ maxChargeCurrentA: 5 });
    expect(rated.body.limits).toMatchObject({ maxChargeCurrentA: 5, maxChargeCurrentBasis: 'datasheet' });
    await test.close();
  });
});
