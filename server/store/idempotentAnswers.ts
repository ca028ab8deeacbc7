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
  return store.get<IdempotentAnswer>(
    'SELECT key, route, requestHash, status, bodyJson, createdAt FROM IdempotentAnswer WHERE key = ? AND route = ?',
    key,
    route,
  );
}

/** Keeps an answer; keys older than a week are let go. */
export async function keepIdempotentAnswer(store: Store, answer: IdempotentAnswer): Promise<void> {
  const weekAgo = new Date(Date.parse(answer.createdAt) - 7 * 86_400_000).toISOString();
  await store.run('DELETE FROM IdempotentAnswer WHERE createdAt < ?', weekAgo);
  await store.run(
    'INSERT OR IGNORE INTO IdempotentAnswer (key, route, requestHash, status, bodyJson, createdAt) VALUES (?, ?, ?, ?, ?, ?)',
    answer.key,
    answer.route,
    answer.requestHash,
    answer.status,
    answer.bodyJson,
    answer.createdAt,
  );
}
