import { setTimeout as delay } from 'node:timers/promises';
import { problem } from './answers.ts';

/** What a service answered, and whether an earlier attempt of the same request may have been done without an answer. */
export interface Answer {
  readonly status: number;
  readonly body: unknown;
  readonly unsure: boolean;
}

export interface Asked {
  readonly body?: unknown;
  /** Sent as it is, in place of a document. */
  readonly text?: string;
  readonly key?: string;
  readonly version?: number;
}

/** How often requests got no answer, or one that says to try again, by what was said. */
export type Troubles = Map<string, number>;

export type Http = (method: string, path: string, asked?: Asked) => Promise<Answer>;

const answersWithinMs = 20_000;
const givesUpAfterMs = 180_000;
const pauseMs = 150;

/** Sends requests to any of the services, again and again until one answers. */
export function httpOver(addresses: readonly string[], random: () => number, troubles: Troubles): Http {
  const note = (what: string) => troubles.set(what, (troubles.get(what) ?? 0) + 1);
  return async (method, path, { body, text, key, version } = {}) => {
    const until = performance.now() + givesUpAfterMs;
    let last = '';
    for (let attempt = 0; ; attempt++) {
      const address = addresses[Math.floor(random() * addresses.length)];
      try {
        const response = await fetch(`${address}/api/v1${path}`, {
          method,
          headers: {
            ...(text === undefined ? {} : { 'Content-Type': 'text/csv' }),
            ...(body === undefined ? {} : { 'Content-Type': 'application/json' }),
            ...(key === undefined ? {} : { 'Idempotency-Key': key }),
            ...(version === undefined ? {} : { 'If-Match': `"${version}"` }),
          },
          body: text ?? (body === undefined ? undefined : JSON.stringify(body)),
          signal: AbortSignal.timeout(answersWithinMs),
        });
        const said = await response.text();
        if (response.status < 500) {
          return {
            status: response.status,
            body: said === '' ? null : JSON.parse(said),
            unsure: attempt > 0,
          };
        }
        last = `${response.status} ${problem.parse(JSON.parse(said)).code}`;
        note(last);
      } catch (error) {
        const late = error instanceof Error && error.name === 'TimeoutError';
        last = late ? `${method} ${path.replace(/\d+|\?.*/g, '…')} not in time` : 'no connection';
        note(last);
      }
      if (performance.now() > until) throw new Error(`${method} ${path} is not answered: ${last}.`);
      await delay(pauseMs * (0.5 + random()));
    }
  };
}
