import { afterAll, beforeAll, expect, it } from 'vitest';
import { type Context, inTransaction } from '../../server/context.ts';
import { notFound, Refusal } from '../../server/errors.ts';
import { inOrder } from '../../server/inOrder.ts';
import { outcomeOf, storeInGroups } from '../../server/use-cases/imports/storeInGroups.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(async () => test.close());

type Change = (tx: Context) => Promise<unknown>;
const storeOne = storeInGroups<Change, unknown>((context, changes) =>
  inTransaction(context, (tx) => inOrder(changes, (change) => outcomeOf(() => change(tx)))),
);

const keep = (name: string) =>
  storeOne(test.context, async ({ store }) => {
    await store.db.insertInto('NamePattern').values({ name, pattern: '', createdAt: '' }).execute();
    return name;
  });
const kept = async () => {
  const rows = await test.context.store.db.selectFrom('NamePattern').select('name').orderBy('name').execute();
  return rows.map(({ name }) => name);
};

it('what waits together is stored together, and a refusal or a failure of one is no matter of the others', async () => {
  const refused = storeOne(test.context, async () => {
    throw notFound('test', 1);
  });
  const outcomes = await Promise.allSettled([
    keep('a'),
    keep('b'),
    refused,
    keep('b'),
    storeOne(test.context, async () => {
      throw new TypeError('a fault of the program');
    }),
    keep('c'),
  ]);
  expect(outcomes.map(({ status }) => status)).toEqual([
    'fulfilled',
    'fulfilled',
    'rejected',
    'rejected',
    'rejected',
    'fulfilled',
  ]);
  expect(outcomes[2]).toMatchObject({ reason: expect.any(Refusal) });
  expect(outcomes[3]).toMatchObject({ reason: { message: expect.stringMatching(/unique/i) } });
  expect(outcomes[4]).toMatchObject({ reason: expect.any(TypeError) });
  expect(await kept()).toEqual(['a', 'b', 'c']);
});

it('changes happen in the order they came', async () => {
  const order: number[] = [];
  const changes = Array.from({ length: 500 }, (_, i) =>
    storeOne(test.context, async () => {
      order.push(i);
    }),
  );
  await Promise.all(changes);
  expect(order).toEqual(Array.from({ length: 500 }, (_, i) => i));
});
