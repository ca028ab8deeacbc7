import type { Request, Response } from 'express';
import type { z } from 'zod';
import type { Context, Role } from '../context.ts';
import type { Endpoint, Method, ParsedPart } from '../contract/endpoint.ts';
import { type EndpointName, type Endpoints, endpoints } from '../contract/endpoints.ts';

/** What a handler is given: everything parsed by the endpoint's schemas. */
export interface Call<Params, Query, Body> {
  readonly context: Context;
  readonly params: Params;
  readonly query: Query;
  readonly body: Body;
  /** The version that If-Match named; only on endpoints with `changesVersion`. */
  readonly version: number;
}

type CallOf<E> = Call<ParsedPart<E, 'params'>, ParsedPart<E, 'query'>, ParsedPart<E, 'body'>>;

/** What a handler gives: the answer before its schema has seen it. */
type Given<E> = E extends { readonly answer: infer Answer extends z.ZodType } ? z.input<Answer> : undefined;

/**
 * How a JSON endpoint is served. What an endpoint with an Idempotency-Key stores and the key's answer are one
 * transaction, which other writers wait for; what takes time and stores nothing goes into `prepare`.
 */
interface Service<E, Prepared> {
  /** The least role that may call it. */
  readonly role: Role;
  readonly prepare?: (call: CallOf<E>) => Promise<Prepared>;
  readonly handle: (call: CallOf<E>, prepared: Prepared) => Promise<Given<E>> | Given<E>;
}

type RawCall<E> = Pick<CallOf<E>, 'context' | 'params' | 'query'> & {
  /** Logs a fault of the program although the request is answered. */
  readonly reportFault: (error: unknown) => void;
};

/** How an endpoint is served whose request or answer is not JSON: an upload, a download, a stream of events. */
interface RawService<E> {
  readonly role: Role;
  readonly handleRaw: (call: RawCall<E>, request: Request, response: Response) => Promise<void> | void;
}

/** An endpoint with what serves it, without their types, as the router and the description read it. */
export interface Route extends Omit<Endpoint, 'status' | 'changesVersion' | 'idempotent'> {
  readonly method: Lowercase<Method>;
  /** Below /api/v1, with `{name}` for parameters. */
  readonly path: string;
  readonly role: Role;
  readonly status: 200 | 201 | 202 | 204;
  readonly changesVersion: boolean;
  readonly idempotent: boolean;
  readonly prepare?: (call: Call<unknown, unknown, unknown>) => Promise<unknown>;
  readonly handle?: (call: Call<unknown, unknown, unknown>, prepared: unknown) => Promise<unknown> | unknown;
  readonly handleRaw?: (
    call: Pick<Call<unknown, unknown, unknown>, 'context' | 'params' | 'query'> & {
      readonly reportFault: (error: unknown) => void;
    },
    request: Request,
    response: Response,
  ) => Promise<void> | void;
}

/** Endpoints that read or write something other than JSON. */
type RawName = {
  [Name in EndpointName]: Endpoints[Name] extends { gives: string } ? Name : never;
}[EndpointName];

/** Serves a JSON endpoint. The handler's types follow from the endpoint's schemas. */
export function defineRoute<Name extends Exclude<EndpointName, RawName>, Prepared = undefined>(
  name: Name,
  service: Service<Endpoints[Name], Prepared>,
): Route {
  return serve(name, endpoints[name], service);
}

/** Serves an endpoint that reads or writes something other than JSON. */
export function defineRawRoute<Name extends RawName>(
  name: Name,
  { role, handleRaw }: RawService<Endpoints[Name]>,
): Route {
  return {
    ...addressed(name, endpoints[name]),
    role,
    // The router calls it only with what this endpoint's own schemas gave out.
    handleRaw: async (call, request, response) =>
      handleRaw(call as RawCall<Endpoints[Name]>, request, response),
  };
}

/** Serves an endpoint that need not stand in the table. */
export function serve<E extends Endpoint, Prepared>(
  name: string,
  endpoint: E,
  { role, prepare, handle }: Service<E, Prepared>,
): Route {
  return {
    ...addressed(name, endpoint),
    role,
    // The router calls these only with what this endpoint's own schemas, and its own preparation, gave out.
    ...(prepare && { prepare: async (call) => prepare(call as CallOf<E>) }),
    handle: async (call, prepared) => handle(call as CallOf<E>, prepared as Prepared),
  };
}

function addressed(name: string, endpoint: Endpoint): Omit<Route, 'role'> {
  const [method, path] = name.split(' ') as [Method, string];
  return {
    ...endpoint,
    method: method.toLowerCase() as Lowercase<Method>,
    path,
    status: endpoint.status ?? (endpoint.answer || endpoint.gives !== undefined ? 200 : 204),
    changesVersion: endpoint.changesVersion ?? false,
    idempotent: endpoint.idempotent ?? false,
  };
}
