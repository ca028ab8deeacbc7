import { createHash, randomBytes } from 'node:crypto';
import type { Actor, Role } from '../context.ts';
import { Refusal } from '../errors.ts';
import type { Store } from '../store/store.ts';
import { findToken, touchToken } from '../store/tokens.ts';

/** Who works at the machine itself without a token. */
export const localActor: Actor = { name: 'local', role: 'owner' };

/** Hash under which a token is stored; the token itself is shown once and never kept. */
export function hashToken(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}

/** A new token: 32 random bytes as text. */
export function makeToken(): string {
  return `gemel_${randomBytes(32).toString('base64url')}`;
}

/**
 * Who asks, from the Authorization header.
 *
 * Without a token the one at the machine is the owner, unless tokens are required: the service answers on the
 * loopback address only.
 *
 * @throws Refusal `sign-in-needed` for a missing (where required), unknown or revoked token
 */
export async function identify(
  store: Store,
  authorization: string | undefined,
  required: boolean,
  now: string,
): Promise<Actor> {
  if (authorization === undefined) {
    if (!required) return localActor;
    throw new Refusal('sign-in-needed', 'This service needs a token in the header Authorization: Bearer …');
  }
  const token = /^Bearer (\S+)$/i.exec(authorization)?.[1];
  const known = token === undefined ? undefined : await findToken(store, hashToken(token));
  if (!known || known.revokedAt !== null) {
    throw new Refusal('sign-in-needed', 'The token is unknown or was revoked.');
  }
  await touchToken(store, known.id, now);
  return { name: known.name, role: known.role as Role };
}
