import { z } from 'zod';
import type { EndpointTable } from '../endpoint.ts';
import { PARAMETER_SET_VERSION } from '../parameterSet.ts';

const openObject = z.record(z.string(), z.unknown());

export const descriptionEndpoints = {
  'GET /openapi.json': {
    tag: 'Description',
    summary: 'This description as an OpenAPI 3.1 document',
    gives: 'application/json',
    answer: openObject,
  },
  'GET /schemas/parameter-set/{version}': {
    tag: 'Description',
    summary: 'JSON Schema 2020-12 of a version of the parameter set',
    params: z.object({ version: z.coerce.number().int().min(1).max(PARAMETER_SET_VERSION) }),
    gives: 'application/schema+json',
    answer: openObject,
  },
} as const satisfies EndpointTable;
