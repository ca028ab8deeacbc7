import type { Store } from './store.ts';

export interface StoredToken {
  readonly id: number;
  readonly name: string;
  readonly role: 'reader' | 'operator' | 'owner';
  readonly createdAt: string;
  readonly lastUsedAt: string | null;
  readonly revokedAt: string | null;
}

const columns = ['id', 'name', 'role', 'createdAt', 'lastUsedAt', 'revokedAt'] as const;

export async function findToken(store: Store, hash: string): Promise<StoredToken | undefined> {
  return store.db.selectFrom('Token').select(columns).where('hash', '=', hash).executeTakeFirst();
}

export async function listTokens(store: Store): Promise<StoredToken[]> {
  return store.db.selectFrom('Token').select(columns).orderBy('name').execute();
}

/** Notes that a token was used, at most once a minute. */
export async function touchToken(store: Store, id: number, now: string): Promise<void> {
  const minuteAgo = new Date(Date.parse(now) - 60_000).toISOString();
  await store.db
    .updateTable('Token')
    .set({ lastUsedAt: now })
    .where('id', '=', id)
    .where(({ or, eb }) => or([eb('lastUsedAt', 'is', null), eb('lastUsedAt', '<', minuteAgo)]))
    .execute();
}

export async function insertToken(
  store: Store,
  token: { name: string; hash: string; role: StoredToken['role']; createdAt: string },
): Promise<number> {
  const { id } = await store.db.insertInto('Token').values(token).returning('id').executeTakeFirstOrThrow();
  return id;
}

/** Revokes a token by name; returns whether there was one in force. */
export async function revokeToken(store: Store, name: string, now: string): Promise<boolean> {
  const { numUpdatedRows } = await store.db
    .updateTable('Token')
    .set({ revokedAt: now })
    .where('name', '=', name)
    .where('revokedAt', 'is', null)
    .executeTakeFirstOrThrow();
  return numUpdatedRows === 1n;
}
