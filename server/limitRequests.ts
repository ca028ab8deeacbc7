import type { RequestHandler } from 'express';
import { type AugmentedRequest, rateLimit } from 'express-rate-limit';
import { Refusal } from './errors.ts';
import { problemOf } from './problem.ts';

/**
 * Refuses more requests than `most` within `windowMs`, of all clients together, because all are of this machine. Without
 * an address to look up, and headers that nobody reads, counting costs a small read hardly anything.
 */
export function limitRequests(most: number, windowMs: number): RequestHandler {
  return rateLimit({
    windowMs,
    limit: most,
    standardHeaders: false,
    legacyHeaders: false,
    validate: false,
    keyGenerator: () => 'all',
    handler: (request, response) => {
      const refusal = new Refusal(
        'too-many-requests',
        `More than ${most.toLocaleString('en')} requests within ${windowMs / 1000} s; wait a moment.`,
      );
      const endsAt = (request as AugmentedRequest).rateLimit.resetTime?.getTime() ?? Date.now() + windowMs;
      response
        .status(refusal.status)
        .set('Retry-After', String(Math.max(1, Math.ceil((endsAt - Date.now()) / 1000))))
        .type('application/problem+json')
        .send(JSON.stringify(problemOf(refusal, request.originalUrl)));
    },
  });
}
