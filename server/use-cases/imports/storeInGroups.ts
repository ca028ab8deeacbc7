import { setTimeout as delay, setImmediate } from 'node:timers/promises';
import type { Context } from '../../context.ts';
import { Refusal, storageRefusal } from '../../errors.ts';
import type { Store } from '../../store/store.ts';

// What waits for the disk waits together: while one group of small changes is being stored, the next one gathers, and is
// stored as one transaction. Each change is answered only when its transaction is on the disk.

/** Changes in one transaction at most, so that none waits long for the others of its group. */
const mostTogether = 500;
/** Where changes come this densely, the next group has time to gather: what a group costs is shared by more of them. */
const denseGroup = 8;
const gathersForMs = 100;

export type Outcome<Result> = { readonly result: Result } | { readonly refusal: Refusal };

/** Stores a group as one transaction; a refusal is the outcome of one, whatever else is thrown of all. */
export type StoreGroup<Item, Result> = (
  context: Context,
  items: readonly Item[],
) => Promise<readonly Outcome<Result>[]>;

interface Waiting<Item, Result> {
  readonly context: Context;
  readonly item: Item;
  readonly resolve: (result: Result) => void;
  readonly reject: (error: unknown) => void;
}

/**
 * Makes a function that stores changes in groups, those of one database one group after another in the order they came.
 * Where a group fails for another reason than the storage, each of it is tried alone, so that one harms no other.
 */
export function storeInGroups<Item, Result>(
  storeGroup: StoreGroup<Item, Result>,
): (context: Context, item: Item) => Promise<Result> {
  type Entry = Waiting<Item, Result>;
  const lines = new WeakMap<Store, { readonly waiting: Entry[]; busy: boolean }>();

  async function work(line: { readonly waiting: Entry[]; busy: boolean }): Promise<void> {
    line.busy = true;
    // What one request brings comes together.
    await setImmediate();
    while (line.waiting.length > 0) {
      const began = performance.now();
      const group = line.waiting.splice(0, mostTogether);
      await store(group);
      const restMs = gathersForMs - (performance.now() - began);
      if (group.length >= denseGroup && line.waiting.length < mostTogether && restMs > 0) await delay(restMs);
    }
    line.busy = false;
  }

  async function store(group: readonly Entry[]): Promise<void> {
    let outcomes: readonly Outcome<Result>[];
    try {
      outcomes = await storeGroup(
        group[0].context,
        group.map(({ item }) => item),
      );
    } catch (error) {
      if (group.length > 1 && storageRefusal(error) === null) {
        for (const each of group) await store([each]);
        return;
      }
      for (const { reject } of group) reject(error);
      return;
    }
    outcomes.forEach((outcome, i) => {
      if ('result' in outcome) group[i].resolve(outcome.result);
      else group[i].reject(outcome.refusal);
    });
  }

  return (context, item) => {
    const line = lines.get(context.store) ?? { waiting: [], busy: false };
    lines.set(context.store, line);
    return new Promise<Result>((resolve, reject) => {
      line.waiting.push({ context, item, resolve, reject });
      if (!line.busy) void work(line);
    });
  };
}

/** What a change came to: its result, or why it was refused. @throws what is no refusal */
export async function outcomeOf<Result>(change: () => Promise<Result> | Result): Promise<Outcome<Result>> {
  try {
    return { result: await change() };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return { refusal: error };
  }
}
