import type { createDocument } from 'zod-openapi';

/** An OpenAPI 3.1 document as the library makes it. */
export type OpenApiDocument = ReturnType<typeof createDocument>;
