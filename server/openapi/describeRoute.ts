import { z } from 'zod';
import type { ZodOpenApiOperationObject, ZodOpenApiResponsesObject } from 'zod-openapi';
import { problem } from '../contract/common.ts';
import { idempotencyKeyText } from '../contract/endpoint.ts';
import type { Route } from '../routes/route.ts';

const problemContent = { 'application/problem+json': { schema: problem } };

/** What each status of a refusal means; a route lists those that it can answer. */
const refusals: Readonly<Record<number, string>> = {
  400: 'The request cannot be used; every wrong field is named',
  401: 'A token is needed, or the one given is unknown or revoked',
  403: 'The role of the token does not suffice',
  404: 'There is no such thing',
  409: 'In conflict with what is stored',
  412: 'Changed by someone else since the version in If-Match was read',
  413: 'Too large',
  415: 'The body is of a media type that is not read here',
  422: 'Understood, but it cannot be done; the reason and the place are named',
  428: 'If-Match is missing',
  429: 'Too many requests',
  503: 'The database cannot be written now',
};

function refusalStatuses(route: Route): number[] {
  const statuses = [401, 403, 429];
  if (route.params || route.query || route.body) statuses.push(400);
  if (route.params || route.body) statuses.push(404);
  if (route.method !== 'get') statuses.push(409, 413, 415, 422, 503);
  if (route.changesVersion) statuses.push(412, 428);
  return statuses.sort((a, b) => a - b);
}

/** The name of an operation, e.g. `getLotsByIdCells`. */
export function operationId(route: Pick<Route, 'method' | 'path'>): string {
  const words = route.path
    .split('/')
    .filter((part) => part !== '')
    .flatMap((part) => (part.startsWith('{') ? ['by', part.slice(1, -1)] : part.split(/[^A-Za-z0-9]+/)));
  return (
    route.method +
    words
      .filter((word) => word !== '')
      .map((word) => word.charAt(0).toUpperCase() + word.slice(1))
      .join('')
  );
}

/** One route as an operation of the description. */
export function describeRoute(route: Route): ZodOpenApiOperationObject {
  return {
    operationId: operationId(route),
    tags: [route.tag],
    summary: route.summary,
    description: `Needs the role ${route.role}.`,
    requestParams: {
      ...(route.params ? { path: objectSchema(route.params, route) } : {}),
      ...(route.query ? { query: objectSchema(route.query, route) } : {}),
      ...headerParameters(route),
    },
    ...requestBody(route),
    responses: responses(route),
  };
}

/** Parameters are described one by one, so their schema must be an object. */
function objectSchema(schema: z.ZodType, route: Route): z.ZodObject {
  if (schema instanceof z.ZodObject) return schema;
  throw new Error(`${route.method} ${route.path}: the parameters are not described by an object schema`);
}

function headerParameters(route: Route): { header?: z.ZodObject } {
  const shape: Record<string, z.ZodType> = {};
  if (route.changesVersion)
    shape['If-Match'] = z.string().meta({ description: 'The ETag of the thing as it was read, e.g. "3"' });
  if (route.idempotent)
    shape['Idempotency-Key'] = z
      .string()
      .min(1)
      .max(200)
      .optional()
      .meta({ description: idempotencyKeyText });
  for (const [name, description] of Object.entries(route.headers ?? {}))
    shape[name] = z.string().optional().meta({ description });
  return Object.keys(shape).length === 0 ? {} : { header: z.object(shape) };
}

function requestBody(route: Route): Pick<ZodOpenApiOperationObject, 'requestBody'> {
  if (route.body)
    return { requestBody: { required: true, content: { 'application/json': { schema: route.body } } } };
  if (route.takes && route.takes.length > 0)
    return {
      requestBody: {
        required: true,
        content: Object.fromEntries(route.takes.map((type) => [type, { schema: rawSchema(type) }])),
      },
    };
  return {};
}

/** Bytes have no schema in OpenAPI 3.1; a form is an object whose parts are files and fields. */
function rawSchema(mediaType: string): Record<string, unknown> {
  return mediaType === 'multipart/form-data' ? { type: 'object' } : {};
}

function responses(route: Route): ZodOpenApiResponsesObject {
  const answers: ZodOpenApiResponsesObject = {};
  const status = String(route.status) as '200';
  const versioned = route.answer instanceof z.ZodObject && 'version' in route.answer.shape;
  answers[status] = {
    description: route.status === 204 ? 'Done; no content' : route.summary,
    ...(route.status === 204 ? {} : { content: answerContent(route) }),
    ...(versioned
      ? { headers: { ETag: { description: 'The version, for If-Match', schema: { type: 'string' } } } }
      : {}),
  };
  if (route.method === 'get' && versioned)
    answers['304'] = { description: 'Not changed since the ETag in If-None-Match' };
  for (const refusal of refusalStatuses(route))
    answers[String(refusal) as '400'] = { description: refusals[refusal], content: problemContent };
  answers.default = { description: 'Any other refusal or fault', content: problemContent };
  return answers;
}

function answerContent(route: Route): Record<string, { schema: z.ZodType | Record<string, unknown> }> {
  if (route.gives !== undefined) return { [route.gives]: { schema: route.answer ?? {} } };
  if (!route.answer) throw new Error(`${route.method} ${route.path} states no answer and no media type`);
  return { 'application/json': { schema: route.answer } };
}
