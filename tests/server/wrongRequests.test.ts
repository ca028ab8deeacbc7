import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('a wrong request', () => {
  let test: TestApp;
  let chemistryId: number;
  beforeAll(async () => {
    test = await openTestApp();
    chemistryId = (await makeLot(test.context)).cellType.chemistryId;
  });
  afterAll(async () => test.close());

  const post = (path: string, body: unknown) =>
    request(test.app)
      .post(`/api/v1${path}`)
      .send(body as object);
  const raw = (path: string, body: string | Buffer, headers: Record<string, string> = {}) =>
    request(test.app)
      .post(`/api/v1${path}`)
      .set({ 'Content-Type': 'application/json', ...headers })
      .serialize((bytes: unknown) => bytes as string)
      .send(body);
  const type = (fields: object) =>
    post('/cell-types', { name: 'T', chemistryId, ratedCapacityAh: 2.2, ...fields });

  it.each([
    ['not a number', { ratedCapacityAh: '2.2' }, 'ratedCapacityAh', '"2.2"', 'is not a number', 'a number'],
    ['negative', { ratedCapacityAh: -2 }, 'ratedCapacityAh', '-2', 'is too small', 'above 0'],
    [
      'in mAh',
      { ratedCapacityAh: 2200 },
      'ratedCapacityAh',
      '2200',
      'is above 1,000 Ah; the unit is Ah: 2,200 mAh are 2.2',
      null,
    ],
    [
      'in mA',
      { maxChargeCurrentA: 4000 },
      'maxChargeCurrentA',
      '4000',
      'is 1818 times the rated capacity per hour',
      'a current in A: 4,000 mA are 4',
    ],
    ['in mV', { chargeVoltageLimitV: 4200 }, 'chargeVoltageLimitV', '4200', 'is too large', 'at most 10'],
    [
      'too long',
      { maker: 'm'.repeat(200) },
      'maker',
      `"${'m'.repeat(119)}`,
      'is too large',
      'at most 120 characters',
    ],
    [
      'of an unknown chemistry',
      { chemistryId: 999 },
      'chemistryId',
      '999',
      'no chemistry has this number',
      'the number of an existing chemistry',
    ],
  ])(
    'with a value that is %s names field, value and what would be right',
    async (_, fields, field, value, reason, expected) => {
      const { body } = await type(fields);
      expect(body.errors).toEqual([{ field, row: null, value, reason, expected }]);
      expect((await request(test.app).get('/api/v1/cell-types')).body.total).toBe(1);
    },
  );

  it('with a missing field says so, and with an unknown one tells which there are instead of passing it over', async () => {
    const missing = await post('/lots', {});
    expect(missing.body.errors).toContainEqual({
      field: 'name',
      row: null,
      value: null,
      reason: 'is missing',
      expected: 'text',
    });
    const misspelt = await type({ chargeVoltage: 4.1 });
    expect(misspelt.status).toBe(400);
    expect(misspelt.body.errors).toEqual([
      expect.objectContaining({
        field: 'chargeVoltage',
        value: '4.1',
        reason: 'is not known here',
        expected: expect.stringContaining('chargeVoltageLimitV'),
      }),
    ]);
    const filter = await request(test.app).get('/api/v1/cells').query({ lot: 1 });
    expect(filter.body.errors[0]).toMatchObject({ field: 'lot', expected: expect.stringContaining('lotId') });
    const nested = await post('/lots/1/ageing', { staysFor: { k: 1, m: 2 } });
    expect(nested.body.errors).toEqual([
      { field: 'staysFor.n', row: null, value: null, reason: 'is missing', expected: 'a number' },
    ]);
    const criteria = await post('/pairings', {
      lotIds: [1],
      criteria: { features: [{ kind: 'x' }], colour: 1 },
    });
    expect(criteria.body.errors).toContainEqual(
      expect.objectContaining({ field: 'criteria.colour', expected: expect.stringContaining('objective') }),
    );
  });

  it.each([
    ['no JSON', '{"name": "a", ', 'body', /JSON/],
    ['a list', '[1,2]', 'body', /is not an object/],
    ['nothing', 'null', 'body', /is not an object/],
    ['not UTF-8', Buffer.from([0x7b, 0x22, 0xff, 0x22, 0x3a, 0x31, 0x7d]), 'body', /not UTF-8/],
    ['nested without end', `${'['.repeat(100_000)}${']'.repeat(100_000)}`, 'body', /is not an object/],
  ])('whose body is %s is refused with the reason', async (_, body, field, reason) => {
    const { status, body: problem } = await raw('/lots', body);
    expect(status).toBe(400);
    expect(problem.errors).toEqual([
      expect.objectContaining({ field, reason: expect.stringMatching(reason) }),
    ]);
  });

  it('with thousands of wrong entries is answered with the first of them', async () => {
    const cellIds = Array.from({ length: 15_000 }, (_, i) => `cell ${i}`);
    const { status, body } = await post('/pairings', { cellIds, criteria: {} });
    expect(status).toBe(400);
    expect(body.errors).toHaveLength(100);
    expect(body.errors[0]).toMatchObject({ field: 'cellIds.0', value: '"cell 0"', expected: 'a number' });
    expect(body.detail).toMatch(/and 95 more$/);
  });

  it('whose body is too large is told how large it may be', async () => {
    const { status, body } = await post('/lots', { name: 'x'.repeat(3_000_000) });
    expect(status).toBe(413);
    expect(body.errors).toEqual([
      expect.objectContaining({ field: 'body', expected: `at most ${test.config.bodyLimitBytes} bytes` }),
    ]);
  });

  it('whose body is not compressed as it says is no fault of the service', async () => {
    for (const encoding of ['gzip', 'br', 'deflate']) {
      const { status, body } = await raw('/lots', '{"name":"a"}', { 'Content-Encoding': encoding });
      expect([encoding, status, body.errors?.[0].field]).toEqual([encoding, 400, 'Content-Encoding']);
    }
  });

  it('by a method that an address does not have is told which it has', async () => {
    const { status, body, headers } = await request(test.app).put('/api/v1/lots').send({});
    expect([status, body.code, headers.allow]).toEqual([405, 'method-not-allowed', 'GET, POST']);
    expect(body.errors[0]).toMatchObject({ field: 'method', value: 'PUT', expected: 'GET or POST' });
    expect((await request(test.app).get('/api/v1/nothing')).status).toBe(404);
  });
});
