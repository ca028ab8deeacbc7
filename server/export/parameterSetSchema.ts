import { z } from 'zod';
import { PARAMETER_SET_SCHEMA, parameterSet } from '../contract/parameterSet.ts';

/**
 * JSON Schema 2020-12 of the parameter set, made from the zod schema that the service itself checks against. It does
 * not forbid further fields, so that a document with added fields keeps to an older copy of the same version.
 */
export function parameterSetSchema(): Record<string, unknown> {
  const { $schema, ...schema } = z.toJSONSchema(parameterSet, {
    target: 'draft-2020-12',
    io: 'input',
    reused: 'ref',
    // A registry of its own: names given elsewhere must not change this document.
    metadata: z.registry(),
  });
  return {
    $schema,
    $id: PARAMETER_SET_SCHEMA,
    title: 'Parameter set',
    description:
      'Parameters of a cell, pair, stack, lot, pairing or cell type. Units are UCUM codes; current is positive on charge; SOC is 0 to 1; a missing number is null with a reason.',
    ...schema,
  };
}
