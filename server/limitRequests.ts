import type { RequestHandler } from 'express';
import { Refusal } from './errors.ts';
import { problemOf } from './problem.ts';

/** Refuses more requests than `most` within `windowMs`, of all clients together, because all are of this machine. */
export function limitRequests(most: number, windowMs: number): RequestHandler {
  let [endsAt, count] = [0, 0];
  return (request, response, next) => {
    const now = performance.now();
    if (now >= endsAt) [endsAt, count] = [now + windowMs, 0];
    if (++count <= most) {
      next();
      return;
    }
    const refusal = new Refusal(
      'too-many-requests',
      `More than ${most.toLocaleString('en')} requests within ${windowMs / 1000} s; wait a moment.`,
    );
    response
      .status(refusal.status)
      .set('Retry-After', String(Math.ceil((endsAt - now) / 1000)))
      .type('application/problem+json')
      .send(JSON.stringify(problemOf(refusal, request.originalUrl)));
  };
}
