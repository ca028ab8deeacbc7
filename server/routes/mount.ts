import { createHash } from 'node:crypto';
import type { NextFunction, Request, Response, Router } from 'express';
import { z } from 'zod';
import type { Context, Role } from '../context.ts';
import { fieldError, Refusal } from '../errors.ts';
import { findIdempotentAnswer, keepIdempotentAnswer } from '../store/idempotentAnswers.ts';
import { wrongFields } from '../wrongFields.ts';
import type { Call, Route } from './route.ts';

const rank: Record<Role, number> = { reader: 0, operator: 1, owner: 2 };

/** How the application finds out who asks, and whether answers are checked against their schemas (in the tests). */
export interface MountOptions {
  readonly contextOf: (request: Request) => Context;
  readonly checkAnswers: boolean;
}

/** Puts declared routes into an Express router. */
export function mountRoutes(router: Router, routes: readonly Route[], options: MountOptions): void {
  for (const route of routes) {
    router[route.method](
      route.path.replace(/\{(\w+)\}/g, ':$1'),
      async (request, response, next: NextFunction) => {
        try {
          await answer(route, request, response, options);
        } catch (error) {
          next(error);
        }
      },
    );
  }
}

async function answer(
  route: Route,
  request: Request,
  response: Response,
  options: MountOptions,
): Promise<void> {
  const context = options.contextOf(request);
  if (rank[context.actor.role] < rank[route.role]) {
    throw new Refusal(
      'not-allowed',
      `This needs the role ${route.role}; ${context.actor.name} is ${context.actor.role}.`,
    );
  }
  const params = parse(route.params, request.params, 'path');
  const query = parse(route.query, request.query, 'query');
  if (route.handleRaw) {
    await route.handleRaw({ context, params, query }, request, response);
    return;
  }
  const body = parse(route.body, request.body, 'body');
  const version = route.changesVersion ? readIfMatch(request) : 0;
  const key = route.idempotent ? readIdempotencyKey(request) : null;
  const call = { context, params, query, body, version };
  const { status, result, text } =
    key === null
      ? await callHandler(route, call, options)
      : await oneAtATime(`${route.path} ${key}`, () => answerOnce(route, call, options, key, request));
  if (status === 204) {
    response.status(204).end();
    return;
  }
  setEntityTag(response, result);
  if (request.method === 'GET' && request.fresh) {
    response.status(304).end();
    return;
  }
  response.status(status).type('application/json').send(text);
}

/** The answer of a route as it is sent. */
interface Answer {
  readonly status: number;
  readonly result: unknown;
  readonly text: string;
}

async function callHandler(
  route: Route,
  call: Call<unknown, unknown, unknown>,
  options: MountOptions,
): Promise<Answer> {
  const result = await route.handle?.(call);
  if (options.checkAnswers && route.answer) checkAnswer(route, result);
  return { status: route.status, result, text: route.status === 204 ? '' : JSON.stringify(result) };
}

/** The answer to a request with an Idempotency-Key: the first one again where the key was used before. */
async function answerOnce(
  route: Route,
  call: Call<unknown, unknown, unknown>,
  options: MountOptions,
  key: string,
  request: Request,
): Promise<Answer> {
  const { store, actor } = call.context;
  const hash = requestHash(request, call.body, actor.name);
  const earlier = findIdempotentAnswer(store, key, route.path);
  if (earlier) {
    if (earlier.requestHash !== hash) {
      throw new Refusal('conflict', 'This Idempotency-Key was used before with another request.', [
        fieldError('Idempotency-Key', key, 'belongs to another request', 'a new key for a new request'),
      ]);
    }
    return { status: earlier.status, result: JSON.parse(earlier.bodyJson), text: earlier.bodyJson };
  }
  const answered = await callHandler(route, call, options);
  keepIdempotentAnswer(store, {
    key,
    route: route.path,
    requestHash: hash,
    status: answered.status,
    bodyJson: answered.text,
    createdAt: call.context.now().toISOString(),
  });
  return answered;
}

const working = new Map<string, Promise<unknown>>();

/** Lets requests with the same key wait for each other, so that a repetition that overtakes the first does nothing twice. */
async function oneAtATime<T>(key: string, work: () => Promise<T>): Promise<T> {
  const before = working.get(key) ?? Promise.resolve();
  const mine = before.then(work, work);
  const settled = mine.then(
    () => undefined,
    () => undefined,
  );
  working.set(key, settled);
  try {
    return await mine;
  } finally {
    if (working.get(key) === settled) working.delete(key);
  }
}

/** Parses one part of a request and names every field that is wrong, not only the first. */
function parse(schema: z.ZodType | undefined, value: unknown, where: 'path' | 'query' | 'body'): unknown {
  if (!schema) return undefined;
  const parsed = schema.safeParse(value ?? {});
  if (parsed.success) return parsed.data;
  const places = wrongFields(parsed.error, value, where);
  throw new Refusal(
    'invalid-request',
    `The ${where} of the request cannot be used: ${places.map((p) => `${p.field}: ${p.reason}`).join('; ')}`,
    places,
  );
}

function readIfMatch(request: Request): number {
  const header = request.get('If-Match');
  const version = header === undefined ? Number.NaN : Number(header.replace(/^W\//, '').replaceAll('"', ''));
  if (!Number.isInteger(version) || version < 1) {
    throw new Refusal(
      'if-match-needed',
      'A change needs the header If-Match with the version that was read.',
      [
        fieldError(
          'If-Match',
          header,
          'missing or no version',
          'the ETag of the thing as it was read, e.g. "3"',
        ),
      ],
    );
  }
  return version;
}

function readIdempotencyKey(request: Request): string | null {
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
  return key;
}

function requestHash(request: Request, body: unknown, actor: string): string {
  return createHash('sha256')
    .update(JSON.stringify([request.originalUrl, body, actor]))
    .digest('hex');
}

/** The ETag of a thing with a version is the version, which If-Match names again. */
function setEntityTag(response: Response, result: unknown): void {
  if (typeof result !== 'object' || result === null || !('version' in result)) return;
  if (typeof result.version === 'number') response.set('ETag', `"${result.version}"`);
}

function checkAnswer(route: Route, result: unknown): void {
  const parsed = route.answer?.safeParse(result);
  if (parsed && !parsed.success) {
    throw new Error(
      `${route.method} ${route.path} answers against its own schema: ${z.prettifyError(parsed.error)}`,
    );
  }
}
