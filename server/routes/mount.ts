import { type NextFunction, type Request, type RequestHandler, type Response, Router } from 'express';
import { z } from 'zod';
import type { Context, Role } from '../context.ts';
import { type ErrorPlace, fieldError, Refusal } from '../errors.ts';
import { sentenceOf, unknownField, wrongFields } from '../wrongFields.ts';
import {
  doOnce,
  findEarlierAnswer,
  type KeyedRequest,
  readKeyedRequest,
  type SentAnswer,
} from './idempotency.ts';
import type { Call, Route } from './route.ts';

const rank: Record<Role, number> = { reader: 0, operator: 1, owner: 2 };

/** How the application finds out who asks, and whether answers are checked against their schemas (in the tests). */
export interface MountOptions {
  readonly contextOf: (request: Request) => Promise<Context>;
  readonly checkAnswers: boolean;
  /** Logs a fault that a route reports although it answers the request. */
  readonly reportFault?: (error: unknown, request: Request) => void;
  /** Compresses what is sent after it was called; answers of fewer bytes are sent without calling it. */
  readonly compress?: { readonly handler: RequestHandler; readonly leastBytes: number };
}

const patternOf = (path: string) => path.replace(/\{(\w+)\}/g, ':$1');

/**
 * Puts declared routes into an Express router, those of each resource into a router of its own: a request is compared
 * with the addresses of its resource alone.
 */
export function mountRoutes(router: Router, routes: readonly Route[], options: MountOptions): void {
  const resources = new Map<string, Route[]>();
  for (const route of routes) {
    const name = resourceOf(route.path);
    resources.set(name, [...(resources.get(name) ?? []), route]);
  }
  const routers = new Map(
    [...resources].map(([name, own]) => {
      const resource = Router({ caseSensitive: true });
      mountResource(resource, own, options);
      return [name, resource];
    }),
  );
  router.use((request, response, next) => {
    const resource = routers.get(resourceOf(request.path));
    if (resource === undefined) next();
    else resource(request, response, next);
  });
}

/** The first part of a path: the plural that its things have. */
function resourceOf(path: string): string {
  const end = path.indexOf('/', 1);
  return end < 0 ? path.slice(1) : path.slice(1, end);
}

function mountResource(router: Router, routes: readonly Route[], options: MountOptions): void {
  for (const route of routes) {
    router[route.method](patternOf(route.path), async (request, response, next: NextFunction) => {
      try {
        await answer(route, request, response, options);
      } catch (error) {
        next(error);
      }
    });
  }
  refuseOtherMethods(router, routes);
}

/** An address that is there, asked for in a way that is not. */
function refuseOtherMethods(router: Router, routes: readonly Route[]): void {
  const methods = new Map<string, string[]>();
  for (const { path, method } of routes)
    methods.set(path, [...(methods.get(path) ?? []), method.toUpperCase()]);
  for (const [path, allowed] of methods) {
    router.all(patternOf(path), (request, response, next) => {
      response.set('Allow', allowed.join(', '));
      next(
        new Refusal('method-not-allowed', `${request.method} is not possible here.`, [
          fieldError('method', request.method, 'not a method of this address', allowed.join(' or ')),
        ]),
      );
    });
  }
}

async function answer(
  route: Route,
  request: Request,
  response: Response,
  options: MountOptions,
): Promise<void> {
  const context = await options.contextOf(request);
  if (rank[context.actor.role] < rank[route.role]) {
    throw new Refusal(
      'not-allowed',
      `This needs the role ${route.role}; ${context.actor.name} is ${context.actor.role}.`,
    );
  }
  const params = parse(route.params, request.params, 'path');
  const query = parse(route.query, request.query, 'query');
  const compress = () => options.compress?.handler(request, response, () => {});
  if (route.handleRaw) {
    compress();
    const reportFault = (error: unknown) => options.reportFault?.(error, request);
    await route.handleRaw({ context, params, query, reportFault }, request, response);
    return;
  }
  const body = parse(route.body, request.body, 'body');
  const version = route.changesVersion ? readIfMatch(request) : 0;
  const call = { context, params, query, body, version };
  const keyed = route.idempotent ? readKeyedRequest(context, request, route.path, [body]) : null;
  const { status, text, result } =
    keyed === null ? await answerNow(route, call, options) : await answerOnce(route, call, options, keyed);
  if (status === 204) {
    response.status(204).end();
    return;
  }
  setEntityTag(response, result);
  if (request.method === 'GET' && request.fresh) {
    response.status(304).end();
    return;
  }
  if (text.length >= (options.compress?.leastBytes ?? 0)) compress();
  response.status(status).type('application/json').send(text);
}

type AnyCall = Call<unknown, unknown, unknown>;
type AnswerWithResult = SentAnswer & { readonly result: unknown };

async function answerNow(route: Route, call: AnyCall, options: MountOptions): Promise<AnswerWithResult> {
  const prepared = await route.prepare?.(call);
  const result = await route.handle?.(call, prepared);
  return { status: route.status, text: textOf(route, result, options), result };
}

/** The answer to a request with an Idempotency-Key: the first one again where the key was used before. */
async function answerOnce(
  route: Route,
  call: AnyCall,
  options: MountOptions,
  keyed: KeyedRequest,
): Promise<AnswerWithResult> {
  let sent = await findEarlierAnswer(call.context, keyed);
  if (sent === null) {
    const prepared = await route.prepare?.(call);
    sent = await doOnce(call.context, keyed, route.status, async (context) =>
      textOf(route, await route.handle?.({ ...call, context }, prepared), options),
    );
  }
  return { ...sent, result: sent.text === '' ? null : JSON.parse(sent.text) };
}

/** The text of an answer; in the tests it is held against its schema. */
function textOf(route: Route, result: unknown, options: MountOptions): string {
  if (route.status === 204) return '';
  if (options.checkAnswers && route.answer) checkAnswer(route, result);
  return JSON.stringify(result);
}

/** Parses one part of a request and names every field that is wrong, not only the first. */
function parse(schema: z.ZodType | undefined, value: unknown, where: 'path' | 'query' | 'body'): unknown {
  if (!schema) return undefined;
  const given = value === undefined ? {} : value;
  const parsed = schema.safeParse(given);
  const places = parsed.success ? [] : wrongFields(parsed.error, given, where, schema);
  if (where !== 'path') places.push(...unknownFields(schema, given));
  if (parsed.success && places.length === 0) return parsed.data;
  throw new Refusal(
    'invalid-request',
    `The ${where} of the request cannot be used: ${sentenceOf(places)}`,
    places,
  );
}

/** A misspelt limit or filter that was passed over without a word would be worse than a refusal. */
function unknownFields(schema: z.ZodType, given: unknown): ErrorPlace[] {
  const open = schema instanceof z.ZodObject && schema.def.catchall === undefined;
  if (!open || typeof given !== 'object' || given === null || Array.isArray(given)) return [];
  const known = Object.keys(schema.shape);
  return Object.keys(given)
    .filter((key) => !known.includes(key))
    .map((key) => unknownField([key], given, known));
}

function readIfMatch(request: Request): number {
  const header = request.get('If-Match');
  const version = Number(/^(?:W\/)?"?([1-9]\d{0,14})"?$/.exec(header ?? '')?.[1] ?? Number.NaN);
  if (Number.isNaN(version)) {
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

/**
 * The ETag of a thing with a version is the version, which If-Match names again. It counts what people change: an
 * evaluation or an import changes the answer without it, so a browser must not keep the answer and ask by the version.
 */
function setEntityTag(response: Response, result: unknown): void {
  if (typeof result !== 'object' || result === null || !('version' in result)) return;
  if (typeof result.version !== 'number') return;
  response.set({ ETag: `"${result.version}"`, 'Cache-Control': 'no-store' });
}

function checkAnswer(route: Route, result: unknown): void {
  const parsed = route.answer?.safeParse(result);
  if (parsed && !parsed.success) {
    throw new Error(
      `${route.method} ${route.path} answers against its own schema: ${z.prettifyError(parsed.error)}`,
    );
  }
}
