import type { z } from 'zod';

/** What the header Idempotency-Key says, for the description. */
export const idempotencyKeyText =
  'A key of the caller. Repeating the request with it gives the first answer again and does nothing twice.';

export type Method = 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE';

/** What a request to an endpoint holds and what it is answered with. */
export interface Endpoint {
  readonly tag: string;
  readonly summary: string;
  /** Schema of the parameters in the path. */
  readonly params?: z.ZodObject;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  /** Schema of the answer; an endpoint without one, and without `gives`, answers 204. */
  readonly answer?: z.ZodType;
  readonly status?: 200 | 201 | 202;
  /** Needs If-Match with the version last read. */
  readonly changesVersion?: true;
  /** Takes an Idempotency-Key: repeating the request with it gives the first answer again. */
  readonly idempotent?: true;
  /** Headers that are read besides these, none of them required: what each says. */
  readonly headers?: Readonly<Record<string, string>>;
  /** Media types of a body that is not JSON by `body`. */
  readonly takes?: readonly string[];
  /** Media type of the answer of an endpoint that reads or writes something other than JSON. */
  readonly gives?: string;
}

/** Endpoints by method and path below /api/v1, with `{name}` for parameters. */
export type EndpointTable = Readonly<Record<`${Method} /${string}`, Endpoint>>;

/** What the schema of one part of an endpoint gives out once parsed; undefined where the endpoint has no such part. */
export type ParsedPart<E, Part extends 'params' | 'query' | 'body'> =
  E extends Readonly<Record<Part, infer Schema extends z.ZodType>> ? z.output<Schema> : undefined;

/** What may be sent as one part of a request; undefined where the endpoint has no such part. */
export type SentPart<E, Part extends 'params' | 'query' | 'body'> =
  E extends Readonly<Record<Part, infer Schema extends z.ZodType>> ? z.input<Schema> : undefined;

/** What is answered. */
export type AnswerOf<E> = E extends { readonly answer: infer Schema extends z.ZodType }
  ? z.output<Schema>
  : undefined;
