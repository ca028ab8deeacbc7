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

/** Keeps an answer; keys older than a week are let go. */
export async function keepIdempotentAnswer(store: Store, answer: IdempotentAnswer): Promise<void> {
  const weekAgo = new Date(Date.parse(answer.createdAt) - 7 * 86_400_000).toISOString();
  await store.db.deleteFrom('IdempotentAnswer').where('createdAt', '<', weekAgo).execute();
  await store.db
    .insertInto('IdempotentAnswer')
    .values(answer)
    .onConflict((conflict) => conflict.columns(['key', 'route']).doNothing())
    .execute();
}
