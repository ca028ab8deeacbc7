import type { Store } from './store.ts';

/** The answer to a creation that carried an Idempotency-Key. */
export interface IdempotentAnswer {
  readonly key: string;
  readonly route: string;
  readonly requestHash: string;
  readonly status: number;
  readonly bodyJson: string;
  readonly createdAt: string;
}

export async function findIdempotentAnswer(
  store: Store,
  key: string,
  route: string,
): Promise<IdempotentAnswer | undefined> {
  return store.db
    .selectFrom('IdempotentAnswer')
    .select(['key', 'route', 'requestHash', 'status', 'bodyJson', 'createdAt'])
    .where('key', '=', key)
    .where('route', '=', route)
    .executeTakeFirst();
}

/** How long a key is remembered. */
const keptMs = 7 * 86_400_000;

/** Lets answers go that are older than a week; not while one is kept, where it would stand in the way of all others. */
export async function sweepIdempotentAnswers(store: Store, now: Date): Promise<void> {
  const before = new Date(now.getTime() - keptMs).toISOString();
  const old = store.db.selectFrom('IdempotentAnswer').select('key').where('createdAt', '<', before).limit(1);
  if ((await old.executeTakeFirst()) === undefined) return;
  await store.db.deleteFrom('IdempotentAnswer').where('createdAt', '<', before).execute();
}

/** Keeps an answer. */
export async function keepIdempotentAnswer(store: Store, answer: IdempotentAnswer): Promise<void> {
  await store.db
    .insertInto('IdempotentAnswer')
    .values(answer)
    .onConflict((conflict) => conflict.columns(['key', 'route']).doNothing())
    .execute();
}
