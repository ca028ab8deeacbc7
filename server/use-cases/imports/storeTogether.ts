import { type Context, inTransaction } from '../../context.ts';
import { Refusal, storageRefusal } from '../../errors.ts';
import type { Store } from '../../store/store.ts';

// What waits for the disk waits together: while one group of small changes is being stored, the next one gathers, and is
// stored as one transaction. Each change is answered only when its transaction is on the disk.

/** Changes in one transaction at most, so that none waits long for the others of its group. */
const mostTogether = 200;
/** Groups that a server stores side by side; an SQLite file takes one writer. */
const lanesOnServer = 4;

interface Waiting {
  readonly context: Context;
  readonly run: (tx: Context) => Promise<unknown>;
  readonly resolve: (result: never) => void;
  readonly reject: (error: unknown) => void;
}

interface Lane {
  readonly waiting: Waiting[];
  busy: boolean;
}

const lanesOf = new WeakMap<Store, readonly Lane[]>();

/**
 * Runs a change in a transaction that it may share with others that wait.
 *
 * @param thing number of what is changed: changes of one thing happen in the order they came
 * @param change reads, refuses, and only then stores; it may run again
 * @throws what the change throws; a Refusal of one is no matter of the others
 */
export function storeTogether<T>(
  context: Context,
  thing: number,
  change: (tx: Context) => Promise<T>,
): Promise<T> {
  const lanes = lanesOf.get(context.store) ?? makeLanes(context.store);
  const lane = lanes[thing % lanes.length];
  return new Promise<T>((resolve, reject) => {
    lane.waiting.push({ context, run: change, resolve: resolve as (result: never) => void, reject });
    if (!lane.busy) void work(lane);
  });
}

function makeLanes(store: Store): readonly Lane[] {
  const count = store.place.kind === 'sqlite' ? 1 : lanesOnServer;
  const lanes = Array.from({ length: count }, (): Lane => ({ waiting: [], busy: false }));
  lanesOf.set(store, lanes);
  return lanes;
}

async function work(lane: Lane): Promise<void> {
  lane.busy = true;
  while (lane.waiting.length > 0) await store(lane.waiting.splice(0, mostTogether));
  lane.busy = false;
}

type Outcome = { readonly result: unknown } | { readonly refusal: Refusal };

/** Stores a group. Where it fails for another reason than the storage, each is tried alone, so that one harms no other. */
async function store(group: readonly Waiting[]): Promise<void> {
  let outcomes: Outcome[];
  try {
    outcomes = await inTransaction(
      group[0].context,
      async ({ store: tx }) => {
        const done: Outcome[] = [];
        for (const { context, run } of group) {
          try {
            done.push({ result: await run({ ...context, store: tx }) });
          } catch (error) {
            if (!(error instanceof Refusal)) throw error;
            done.push({ refusal: error });
          }
        }
        return done;
      },
      'snapshot',
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
    if ('result' in outcome) group[i].resolve(outcome.result as never);
    else group[i].reject(outcome.refusal);
  });
}
