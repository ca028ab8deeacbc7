import type { Request, Response } from 'express';
import type { z } from 'zod';
import type { Context, Role } from '../context.ts';

/** What a handler is given: everything parsed by the route's schemas. */
export interface Call<Params, Query, Body> {
  readonly context: Context;
  readonly params: Params;
  readonly query: Query;
  readonly body: Body;
  /** The version that If-Match named; only on routes with `changesVersion`. */
  readonly version: number;
}

/** What the header Idempotency-Key says, for the description. */
export const idempotencyKeyText =
  'A key of the caller. Repeating the request with it gives the first answer again and does nothing twice.';

interface RouteBase<
  Params extends z.ZodType,
  Query extends z.ZodType,
  Body extends z.ZodType,
  Answer extends z.ZodType,
> {
  readonly method: 'get' | 'post' | 'patch' | 'delete' | 'put';
  /** Below /api/v1, with `{name}` for parameters. */
  readonly path: string;
  readonly tag: string;
  readonly summary: string;
  /** The least role that may call it. */
  readonly role: Role;
  readonly params?: Params;
  readonly query?: Query;
  readonly body?: Body;
  /** Schema of the answer; a route without one answers 204. */
  readonly answer?: Answer;
  readonly status?: 200 | 201 | 202;
  /** Needs If-Match with the version last read. */
  readonly changesVersion?: boolean;
}

/** A route that does its work anew each time. */
interface PlainRoute<
  Params extends z.ZodType,
  Query extends z.ZodType,
  Body extends z.ZodType,
  Answer extends z.ZodType,
> extends RouteBase<Params, Query, Body, Answer> {
  readonly idempotent?: false;
  readonly prepare?: undefined;
  readonly handle: (
    call: Call<z.output<Params>, z.output<Query>, z.output<Body>>,
  ) => Promise<z.input<Answer>> | z.input<Answer>;
}

/**
 * A route that takes an Idempotency-Key: repeating the request gives the first answer again. What it stores and the key's
 * answer are one transaction, which others wait for; what takes time and stores nothing goes into `prepare`.
 */
interface OnceRoute<
  Params extends z.ZodType,
  Query extends z.ZodType,
  Body extends z.ZodType,
  Answer extends z.ZodType,
  Prepared,
> extends RouteBase<Params, Query, Body, Answer> {
  readonly idempotent: true;
  readonly prepare?: (call: Call<z.output<Params>, z.output<Query>, z.output<Body>>) => Promise<Prepared>;
  readonly handle: (
    call: Call<z.output<Params>, z.output<Query>, z.output<Body>>,
    prepared: Prepared,
  ) => Promise<z.input<Answer>> | z.input<Answer>;
}

/** A route as it is declared: the router and the API's description are both made from it, so they cannot drift. */
export type RouteDefinition<
  Params extends z.ZodType,
  Query extends z.ZodType,
  Body extends z.ZodType,
  Answer extends z.ZodType,
  Prepared,
> = PlainRoute<Params, Query, Body, Answer> | OnceRoute<Params, Query, Body, Answer, Prepared>;

/** A route whose request or answer is not JSON: an upload, a download, a stream of events. */
export interface RawRouteDefinition<Params extends z.ZodType, Query extends z.ZodType> {
  readonly method: 'get' | 'post' | 'put';
  readonly path: string;
  readonly tag: string;
  readonly summary: string;
  readonly role: Role;
  readonly params?: Params;
  readonly query?: Query;
  /** Headers that the handler reads, none of them required: what each says, for the description. */
  readonly headers?: Readonly<Record<string, string>>;
  /** Media types of the request's body, for the description. */
  readonly takes?: readonly string[];
  /** Schema of a JSON body, for the description; the handler parses it itself. */
  readonly body?: z.ZodType;
  /** Media type of the answer, for the description. */
  readonly gives: string;
  /** Schema of a JSON answer. */
  readonly answer?: z.ZodType;
  readonly status?: 200 | 201 | 202;
  readonly handleRaw: (
    call: { readonly context: Context; readonly params: z.output<Params>; readonly query: z.output<Query> },
    request: Request,
    response: Response,
  ) => Promise<void> | void;
}

/** A declared route without its type parameters, as the router and the description read it. */
export interface Route {
  readonly method: 'get' | 'post' | 'patch' | 'delete' | 'put';
  readonly path: string;
  readonly tag: string;
  readonly summary: string;
  readonly role: Role;
  readonly params?: z.ZodType;
  readonly query?: z.ZodType;
  readonly body?: z.ZodType;
  readonly answer?: z.ZodType;
  readonly status: 200 | 201 | 202 | 204;
  readonly changesVersion: boolean;
  readonly idempotent: boolean;
  readonly headers?: Readonly<Record<string, string>>;
  readonly takes?: readonly string[];
  readonly gives?: string;
  readonly prepare?: (call: Call<unknown, unknown, unknown>) => Promise<unknown>;
  readonly handle?: (call: Call<unknown, unknown, unknown>, prepared: unknown) => Promise<unknown> | unknown;
  readonly handleRaw?: (
    call: { readonly context: Context; readonly params: unknown; readonly query: unknown },
    request: Request,
    response: Response,
  ) => Promise<void> | void;
}

/** Declares a JSON route. The handler's types follow from the schemas. */
export function defineRoute<
  Params extends z.ZodType = z.ZodUndefined,
  Query extends z.ZodType = z.ZodUndefined,
  Body extends z.ZodType = z.ZodUndefined,
  Answer extends z.ZodType = z.ZodUndefined,
  Prepared = undefined,
>(definition: RouteDefinition<Params, Query, Body, Answer, Prepared>): Route {
  type Given = Call<z.output<Params>, z.output<Query>, z.output<Body>>;
  const { prepare, handle, changesVersion, idempotent, status, ...rest } = definition;
  return {
    ...rest,
    status: status ?? (definition.answer ? 200 : 204),
    changesVersion: changesVersion ?? false,
    idempotent: idempotent ?? false,
    // The router calls these only with what this route's own schemas, and its own preparation, gave out.
    ...(prepare && { prepare: async (call) => prepare(call as Given) }),
    handle: async (call, prepared) => handle(call as Given, prepared as Prepared),
  };
}

/** Declares a route that reads or writes something other than JSON. */
export function defineRawRoute<
  Params extends z.ZodType = z.ZodUndefined,
  Query extends z.ZodType = z.ZodUndefined,
>(definition: RawRouteDefinition<Params, Query>): Route {
  const { handleRaw, status, ...rest } = definition;
  return {
    ...rest,
    status: status ?? 200,
    changesVersion: false,
    idempotent: false,
    handleRaw: async (call, request, response) =>
      handleRaw(
        {
          context: call.context,
          params: call.params as z.output<Params>,
          query: call.query as z.output<Query>,
        },
        request,
        response,
      ),
  };
}
