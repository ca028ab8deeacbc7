import { createDocument, type ZodOpenApiPathsObject } from 'zod-openapi';
import { softwareVersion } from '../export/softwareVersion.ts';
import type { Route } from '../routes/route.ts';
import { namedSchemas } from './components.ts';
import { describeRoute } from './describeRoute.ts';
import type { OpenApiDocument } from './openApiDocument.ts';
import { tidyComponents } from './tidyComponents.ts';

const description = `Cell-characterisation database and fitting service.

Units are in the names (SI and the trade's); current is positive on charge; SOC is 0 to 1; instants are ISO 8601 in UTC;
a missing number is null with a reason beside it. Lists are paged by cursor: pass \`nextCursor\` as \`cursor\`. Things that
change carry an ETag, which a change names in If-Match. Creations take an Idempotency-Key. Refusals are problem details
after RFC 9457 with a stable \`code\`.

Compatibility: within v1 fields, routes, codes and values of enumerations may be added; nothing is removed, renamed or given
another meaning. Readers ignore what they do not know; the service refuses fields and parameters that it does not know.`;

/**
 * The OpenAPI 3.1 document of the service, made from the declared routes and their schemas.
 *
 * @param strict forbids fields of answers that are not described; for tests, since clients must bear added fields
 */
export function openApiDocument(routes: readonly Route[], strict = false): OpenApiDocument {
  const paths: ZodOpenApiPathsObject = {};
  for (const route of routes) {
    const item = paths[route.path] ?? {};
    if (item[route.method] !== undefined) throw new Error(`${route.method} ${route.path} is declared twice`);
    item[route.method] = describeRoute(route);
    paths[route.path] = item;
  }
  const tags = [...new Set(routes.map((route) => route.tag))].map((name) => ({ name }));
  const document = createDocument(
    {
      openapi: '3.1.0',
      info: {
        title: 'gemel',
        version: softwareVersion,
        description,
        license: { name: 'MIT', identifier: 'MIT' },
      },
      servers: [{ url: '/api/v1' }],
      tags,
      security: [{}, { token: [] }],
      paths,
      components: {
        schemas: Object.fromEntries([...namedSchemas()].map(([schema, name]) => [name, schema])),
        securitySchemes: { token: { type: 'http', scheme: 'bearer' } },
      },
    },
    {
      override: ({ jsonSchema, zodSchema, io }) => {
        const { def } = zodSchema._zod;
        const open = def.type === 'object' && !('catchall' in def && def.catchall);
        if (io === 'output' && open && !strict) delete jsonSchema.additionalProperties;
      },
    },
  );
  return tidyComponents(document);
}
