import type { AnswerOf, Method, SentPart } from '../../../server/contract/endpoint.ts';
import type { EndpointName, Endpoints } from '../../../server/contract/endpoints.ts';

/** The paths below /api/v1 that take a method, as the contract writes them: `/lots/{id}`. */
export type PathOf<M extends Method> = {
  [Name in EndpointName]: Name extends `${M} ${infer Path}` ? Path : never;
}[EndpointName];

/** The endpoint at a path. */
export type At<M extends Method, P extends string> = `${M} ${P}` extends infer Name extends EndpointName
  ? Endpoints[Name]
  : never;

/** What an endpoint answers; null where it answers without a body. */
export type Answer<E> = AnswerOf<E> extends undefined ? null : AnswerOf<E>;

/** A value in an address: a list is joined with commas; null, undefined and '' are left out. */
export type QueryValue = string | number | boolean | readonly (string | number)[] | null | undefined;

/** What any request may hold, whatever its endpoint. */
export interface AnyGiven {
  readonly params?: Readonly<Record<string, string | number>>;
  readonly query?: Readonly<Record<string, QueryValue>>;
  /** Sent as JSON. */
  readonly body?: unknown;
  /** Version of the thing that is changed: the server refuses when somebody changed it in the meantime. */
  readonly version?: number;
  /** Makes a repeated request do its work once. */
  readonly idempotencyKey?: string;
  /** Sent as it is (files). */
  readonly raw?: Blob;
  readonly rawType?: string;
  readonly headers?: Readonly<Record<string, string>>;
  readonly signal?: AbortSignal;
}

type Params<E> = E extends { readonly params: unknown }
  ? { readonly params: { readonly [Key in keyof SentPart<E, 'params'> & string]: string | number } }
  : { readonly params?: undefined };
type Query<E> = { readonly query?: { readonly [Key in keyof SentPart<E, 'query'> & string]?: QueryValue } };
type Body<E> = E extends { readonly body: unknown; readonly takes?: undefined }
  ? { readonly body: SentPart<E, 'body'> }
  : { readonly body?: undefined };
type Version<E> = E extends { readonly changesVersion: true }
  ? { readonly version: number }
  : { readonly version?: undefined };
type Key<E> = E extends { readonly idempotent: true }
  ? { readonly idempotencyKey: string }
  : { readonly idempotencyKey?: string };

/** What a request to an endpoint holds: what the endpoint needs must be given, what it does not know cannot be. */
export type Given<E> = Params<E> &
  Query<E> &
  Body<E> &
  Version<E> &
  Key<E> &
  Pick<AnyGiven, 'raw' | 'rawType' | 'headers' | 'signal'>;

/** The arguments after the path: what is given may be left out where nothing has to be. */
export type GivenTo<E> = object extends Given<E> ? [given?: Given<E>] : [given: Given<E>];
