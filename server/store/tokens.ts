import type { Store } from './store.ts';

export interface StoredToken {
  readonly id: number;
  readonly name: string;
  readonly role: string;
  readonly createdAt: string;
  readonly lastUsedAt: string | null;
  readonly revokedAt: string | null;
}

const columns = 'id, name, role, createdAt, lastUsedAt, revokedAt';

export async function findToken(store: Store, hash: string): Promise<StoredToken | undefined> {
  return store.get<StoredToken>(`SELECT ${columns} FROM Token WHERE hash = ?`, hash);
}

export async function listTokens(store: Store): Promise<StoredToken[]> {
  return store.all<StoredToken>(`SELECT ${columns} FROM Token ORDER BY name`);
}

/** Notes that a token was used, at most once a minute. */
export async function touchToken(store: Store, id: number, now: string): Promise<void> {
  const minuteAgo = new Date(Date.parse(now) - 60_000).toISOString();
  await store.run(
    'UPDATE Token SET lastUsedAt = ? WHERE id = ? AND (lastUsedAt IS NULL OR lastUsedAt < ?)',
    now,
    id,
    minuteAgo,
  );
}

export async function insertToken(
  store: Store,
  token: { name: string; hash: string; role: string; createdAt: string },
): Promise<number> {
  return (
    await store.run(
      'INSERT INTO Token (name, hash, role, createdAt) VALUES (?, ?, ?, ?)',
      token.name,
      token.hash,
      token.role,
      token.createdAt,
    )
  ).id;
}

/** Revokes a token by name; returns whether there was one in force. */
export async function revokeToken(store: Store, name: string, now: string): Promise<boolean> {
  return (
    (await store.run('UPDATE Token SET revokedAt = ? WHERE name = ? AND revokedAt IS NULL', now, name))
      .changes === 1
  );
}
