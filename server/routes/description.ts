import { z } from 'zod';
import { PARAMETER_SET_VERSION } from '../contract/parameterSet.ts';
import { parameterSetSchema } from '../export/parameterSetSchema.ts';
import { openApiDocument } from '../openapi/document.ts';
import { defineRawRoute, type Route } from './route.ts';

const tag = 'Description';
const openObject = z.record(z.string(), z.unknown());

/**
 * What describes the service to programs: its OpenAPI document and the schema of the parameter set.
 *
 * @param routes gives all routes, these among them, once they are gathered
 */
export function descriptionRoutes(routes: () => readonly Route[]): readonly Route[] {
  let text: string | null = null;
  return [
    defineRawRoute({
      method: 'get',
      path: '/openapi.json',
      tag,
      summary: 'This description as an OpenAPI 3.1 document',
      role: 'reader',
      gives: 'application/json',
      answer: openObject,
      handleRaw: (_call, _request, response) => {
        text ??= JSON.stringify(openApiDocument(routes()));
        response.type('application/json').send(text);
      },
    }),
    defineRawRoute({
      method: 'get',
      path: '/schemas/parameter-set/{version}',
      tag,
      summary: 'JSON Schema 2020-12 of a version of the parameter set',
      role: 'reader',
      params: z.object({ version: z.coerce.number().int().min(1).max(PARAMETER_SET_VERSION) }),
      gives: 'application/schema+json',
      answer: openObject,
      handleRaw: (_call, _request, response) => {
        response.type('application/schema+json').send(JSON.stringify(parameterSetSchema()));
      },
    }),
  ];
}
