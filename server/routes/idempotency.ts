import { createHash } from 'node:crypto';
import type { Request } from 'express';
import { type Context, inTransaction, nowText } from '../context.ts';
import { fieldError, Refusal } from '../errors.ts';
import { findIdempotentAnswer, keepIdempotentAnswer } from '../store/idempotentAnswers.ts';

/** A request that carried an Idempotency-Key. */
export interface KeyedRequest {
  readonly key: string;
  readonly route: string;
  /** Hash of everything that makes it this request; the same key with another one is refused. */
  readonly hash: string;
}

/** An answer as it was, or will be, sent. */
export interface SentAnswer {
  readonly status: number;
  readonly text: string;
}

/**
 * The request's Idempotency-Key with the request it belongs to; null where it carries none.
 *
 * @param parts what makes this request, besides its address and the one who asks
 * @throws Refusal `invalid-request` for a key that cannot be used
 */
export function readKeyedRequest(
  context: Context,
  request: Request,
  route: string,
  parts: readonly unknown[],
): KeyedRequest | null {
  const key = request.get('Idempotency-Key');
  if (key === undefined) return null;
  if (!/^[\x21-\x7e]{1,200}$/.test(key)) {
    throw new Refusal('invalid-request', 'The Idempotency-Key cannot be used.', [
      fieldError(
        'Idempotency-Key',
        key,
        'not 1 to 200 visible ASCII characters',
        'for example a random UUID',
      ),
    ]);
  }
  const hash = createHash('sha256')
    .update(JSON.stringify([request.originalUrl, ...parts, context.actor.name]))
    .digest('hex');
  return { key, route, hash };
}

/** The answer that the key was given before. @throws Refusal `conflict` where that was another request */
export async function findEarlierAnswer(context: Context, keyed: KeyedRequest): Promise<SentAnswer | null> {
  const earlier = await findIdempotentAnswer(context.store, keyed.key, keyed.route);
  if (!earlier) return null;
  if (earlier.requestHash !== keyed.hash) {
    throw new Refusal('conflict', 'This Idempotency-Key was used before with another request.', [
      fieldError('Idempotency-Key', keyed.key, 'belongs to another request', 'a new key for a new request'),
    ]);
  }
  return { status: earlier.status, text: earlier.bodyJson };
}

/**
 * Does the work of a request and keeps its answer under the key as one transaction: whenever the service ends, both are
 * stored or neither is, so that repeating the request never does the work twice. Where the key has its answer already,
 * nothing is done and that answer is given.
 *
 * @param work does everything that is stored, and gives the text of the answer, in the context it is given
 */
export async function doOnce(
  context: Context,
  keyed: KeyedRequest,
  status: number,
  work: (context: Context) => Promise<string>,
): Promise<SentAnswer> {
  return inTransaction(context, async (context) => {
    const earlier = await findEarlierAnswer(context, keyed);
    if (earlier) return earlier;
    const text = await work(context);
    await keepIdempotentAnswer(context.store, {
      key: keyed.key,
      route: keyed.route,
      requestHash: keyed.hash,
      status,
      bodyJson: text,
      createdAt: nowText(context),
    });
    return { status, text };
  });
}
