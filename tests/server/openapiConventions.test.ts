import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { fillStore } from './exportStore.ts';

describe('an Idempotency-Key', () => {
  let test: TestApp;
  let cellTypeId: number;
  beforeAll(async () => {
    test = await openTestApp();
    cellTypeId = (await makeLot(test.context)).cellType.id;
  });
  afterAll(async () => test.close());

  const post = (name: string, key: string) =>
    request(test.app).post('/api/v1/lots').set('Idempotency-Key', key).send({ name, cellTypeId });

  it('gives requests that overlap one and the same answer, with its ETag, and makes one thing', async () => {
    const answers = await Promise.all(Array.from({ length: 8 }, () => post('made once', 'overlap')));
    expect(new Set(answers.map((answer) => answer.text)).size).toBe(1);
    expect(answers.map((answer) => [answer.status, answer.headers.etag])).toEqual(
      Array.from({ length: 8 }, () => [201, '"1"']),
    );
    const lots = await request(test.app).get('/api/v1/lots').query({ search: 'made once' });
    expect(lots.body.total).toBe(1);
  });

  it('is free again for a request that was refused', async () => {
    expect((await post('lot A', 'refused')).status).toBe(409);
    expect((await post('lot B', 'refused')).status).toBe(201);
  });
});

describe('paging of exports by cursor', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(async () => test.close());

  it('shows each export once, also while others are made between the pages', async () => {
    const { lotId, stackId } = await fillStore(test.context);
    const make = (subjectKind: string, subjectId: number) =>
      request(test.app).post('/api/v1/exports').send({ format: 'parameters-json', subjectKind, subjectId });
    for (let i = 0; i < 5; i++) await make('lot', lotId);
    await make('stack', stackId);
    const seen: number[] = [];
    let cursor: string | undefined;
    do {
      const page = await request(test.app)
        .get('/api/v1/exports')
        .query({ limit: 2, subjectKind: 'lot', ...(cursor === undefined ? {} : { cursor }) });
      seen.push(...page.body.items.map((entry: { id: number }) => entry.id));
      cursor = page.body.nextCursor ?? undefined;
      await make('lot', lotId);
    } while (cursor !== undefined);
    expect(seen).toEqual([5, 4, 3, 2, 1]);
  });
});
