import { afterAll, beforeAll, describe, expect, test as it } from 'vitest';
import type { Context } from '../../server/context.ts';
import type { StoredPair } from '../../server/contract/pairings.ts';
import { Refusal } from '../../server/errors.ts';
import { openFurtherStore, type Store } from '../../server/store/store.ts';
import { decidePair } from '../../server/use-cases/pairing/decidePair.ts';
import { readPair, readPairing } from '../../server/use-cases/pairing/readPairing.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { swapPairs } from '../../server/use-cases/pairing/swapPairs.ts';
import { addNote } from '../../server/use-cases/register/addNote.ts';
import { undoStack } from '../../server/use-cases/stacks/changeStack.ts';
import { planStack } from '../../server/use-cases/stacks/planStack.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type MadeCell, makeMeasuredLot, usualCriteria } from './pairedLot.ts';

const cells: readonly MadeCell[] = Array.from({ length: 24 }, (_, i) => [`c${i}`, 2.5 + i / 1e5, 0.02]);
const rounds = 2;

let test: TestApp;
/** Two services over one database. */
let services: readonly Context[];
let further: Store;
let idOf: Record<string, number>;
let pairIds: readonly number[];
beforeAll(async () => {
  test = await openTestApp();
  further = await openFurtherStore(test.config.database);
  services = [test.context, { ...test.context, store: further }];
  const { lotId, idOf: made } = await makeMeasuredLot(test, cells);
  idOf = made;
  const runs = [];
  for (let i = 0; i < 2; i++)
    runs.push(await runPairing(test.context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() }));
  // Each pair of the second run then shares its cells with two pairs of the first.
  const second = runs[1];
  for (let i = 0; i < second.pairs.length; i += 2) {
    const { version } = await readPairing(test.context, second.id);
    const [pairId, withPairId] = [second.pairs[i].id, second.pairs[i + 1].id];
    await swapPairs(test.context, second.id, version, { pairId, withPairId, cellId: null, withCellId: null });
  }
  pairIds = runs.flatMap(({ pairs }) => pairs.map(({ id }) => id));
});
afterAll(async () => {
  await further.close();
  await test.close();
});

/** What came of it; only a refusal that has a name is an answer. */
async function answered<T>(work: () => Promise<T>): Promise<T | Refusal> {
  try {
    return await work();
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
}

const isDone = <T>(outcome: T | Refusal): outcome is T => !(outcome instanceof Refusal);

const readAll = async (): Promise<StoredPair[]> => {
  const pairs = [];
  for (const id of pairIds) pairs.push(await readPair(test.context, id));
  return pairs;
};

describe('decisions about pairs of one lot that are made at the same time', () => {
  it('are all answered, and no cell comes into two accepted pairs or stacks', async () => {
    for (let round = 0; round < rounds; round++) {
      const before = await readAll();
      // Everybody decides about every pair at once, at both services, while others note something on the cells.
      const decided = Promise.all(
        before.flatMap((pair) =>
          services.map((service) =>
            answered(() => decidePair(service, pair.id, pair.version, { state: 'accepted', reason: null })),
          ),
        ),
      );
      const noted = Object.values(idOf).map((cellId, i) =>
        addNote(services[i % 2], { cellId }, `looked at in round ${round}`),
      );
      const told = (await decided).filter(isDone);
      await Promise.all(noted);
      const after = await readAll();
      const accepted = after.filter(({ state }) => state === 'accepted');
      const taken = accepted.flatMap(({ cells }) => cells.map(({ id }) => id));
      expect(new Set(taken).size).toBe(taken.length);
      expect(new Set(told.map(({ id }) => id))).toEqual(new Set(accepted.map(({ id }) => id)));
      // Of each pair that shares cells with it one is accepted, so that at least a third are.
      expect(accepted.length).toBeGreaterThanOrEqual(pairIds.length / 3);

      const planned = await Promise.all(
        accepted.flatMap(({ id }) =>
          services.map((service) => answered(() => planStack(service, { pairId: id, note: '' }))),
        ),
      );
      const stacks = planned.filter(isDone);
      expect(stacks.map(({ pairId }) => pairId).sort()).toEqual(accepted.map(({ id }) => id).sort());
      await Promise.all(stacks.map(({ id, version }, i) => undoStack(services[i % 2], id, version)));
      for (const { id } of accepted) {
        const { version } = await readPair(test.context, id);
        await decidePair(test.context, id, version, { state: 'proposed', reason: null });
      }
    }
  });
});
