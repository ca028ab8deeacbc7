import { parameterSetSchema } from '../export/parameterSetSchema.ts';
import { openApiDocument } from '../openapi/document.ts';
import { defineRawRoute, type Route } from './route.ts';

/**
 * What describes the service to programs: its OpenAPI document and the schema of the parameter set.
 *
 * @param routes gives all routes, these among them, once they are gathered
 */
export function descriptionRoutes(routes: () => readonly Route[]): readonly Route[] {
  let text: string | null = null;
  return [
    defineRawRoute('GET /openapi.json', {
      role: 'reader',
      handleRaw: (_call, _request, response) => {
        text ??= JSON.stringify(openApiDocument(routes()));
        response.type('application/json').send(text);
      },
    }),
    defineRawRoute('GET /schemas/parameter-set/{version}', {
      role: 'reader',
      handleRaw: (_call, _request, response) => {
        response.type('application/schema+json').send(JSON.stringify(parameterSetSchema()));
      },
    }),
  ];
}
