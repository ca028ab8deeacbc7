import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openStore, type Store } from '../../server/store/store.ts';
import { makeTestDatabase, onPostgresql, type TestDatabase } from '../support/testDatabase.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-transactions-'));
const file = join(folder, 'gemel.sqlite');
let database: TestDatabase;
let store: Store;
beforeAll(async () => {
  database = await makeTestDatabase(folder);
  store = await openStore(database.place);
});
afterAll(async () => {
  await store.close();
  await database.remove();
  rmSync(folder, { recursive: true });
});

/** Two balances whose sum every transaction keeps, in the text of two name patterns. */
const names = ['left', 'right'] as const;
const whole = 1000;
beforeEach(async () => {
  for (const name of names) {
    await store.db
      .insertInto('NamePattern')
      .values({ name, pattern: String(whole / 2), createdAt: '' })
      .execute();
  }
});
afterEach(async () => {
  await store.db.deleteFrom('NamePattern').execute();
});

async function balances(of: Store): Promise<Record<string, number>> {
  const rows = await of.db.selectFrom('NamePattern').select(['name', 'pattern']).execute();
  return Object.fromEntries(rows.map(({ name, pattern }) => [name, Number(pattern)]));
}

async function set(tx: Store, name: string, value: number): Promise<void> {
  await tx.db
    .updateTable('NamePattern')
    .set({ pattern: String(value) })
    .where('name', '=', name)
    .execute();
}

interface Transfer {
  readonly amount: number;
  /** Turns of the event loop that it lets pass between its steps. */
  readonly pauses: readonly number[];
  readonly fails: boolean;
}

/** Reads both, then writes one after the other, and lets others have the thread between. */
async function move(tx: Store, { amount, pauses, fails }: Transfer): Promise<void> {
  const pause = async (i: number) => {
    for (let k = 0; k < pauses[i]; k++) await turn();
  };
  const { left, right } = await balances(tx);
  await pause(0);
  await set(tx, 'left', left - amount);
  await pause(1);
  if (fails) throw new Error('stopped half-way');
  await set(tx, 'right', right + amount);
  await pause(2);
}

const transfer = fc.record({
  amount: fc.integer({ min: -50, max: 50 }),
  pauses: fc.array(fc.nat(3), { minLength: 3, maxLength: 3 }),
  fails: fc.boolean(),
});

describe('transactions that run at the same time', () => {
  it('never see or undo a part of another, and reads outside see only whole ones', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(transfer, { minLength: 2, maxLength: 8 }), async (transfers) => {
        const before = (await balances(store)).right;
        let running = true;
        const sums: number[] = [];
        const reader = (async () => {
          while (running) {
            const { left, right } = await balances(store);
            sums.push(left + right);
            await turn();
          }
        })();
        const ended = await Promise.allSettled(
          transfers.map((each) => store.transaction((tx) => move(tx, each))),
        );
        running = false;
        await reader;
        expect(new Set(sums)).toEqual(new Set([whole]));
        expect(ended.map(({ status }) => status === 'rejected')).toEqual(transfers.map(({ fails }) => fails));
        const moved = transfers.filter(({ fails }) => !fails).reduce((sum, { amount }) => sum + amount, 0);
        expect(await balances(store)).toEqual({ left: whole - before - moved, right: before + moved });
      }),
      { numRuns: 40 },
    );
  });

  it.skipIf(onPostgresql)(
    'wait for one that another process has open, while reads go on at once',
    async () => {
      const other = new Database(file);
      other.exec('BEGIN IMMEDIATE');
      let written = false;
      const writing = store
        .transaction((tx) => set(tx, 'left', 7))
        .then(() => {
          written = true;
        });
      for (let i = 0; i < 50; i++) expect((await balances(store)).left).toBe(whole / 2);
      expect(written).toBe(false);
      other.exec('COMMIT');
      other.close();
      await writing;
      expect((await balances(store)).left).toBe(7);
    },
  );

  it('undo a part alone where the part throws, and the rest stands', async () => {
    await store.transaction(async (tx) => {
      await set(tx, 'left', 1);
      await expect(
        tx.transaction(async (part) => {
          await set(part, 'right', 2);
          throw new Error('the part fails');
        }),
      ).rejects.toThrow('the part fails');
    });
    expect(await balances(store)).toEqual({ left: 1, right: whole / 2 });
  });

  it('refuse the store outside them, which would wait for them or miss what they did', async () => {
    await expect(store.transaction(() => balances(store))).rejects.toThrow('inside its own transaction');
  });

  it('refuse a statement that was not awaited and comes after their end', async () => {
    let left: Store | undefined;
    await store.transaction(async (tx) => {
      left = tx;
    });
    await expect(balances(left as Store)).rejects.toThrow('not awaited');
  });
});
