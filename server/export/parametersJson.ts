import { type ParameterSet, parameterSet } from '../contract/parameterSet.ts';
import { compactParameters } from './compactParameters.ts';

/**
 * The parameter set as JSON text. The schema's order of keys is kept, so that equal parameters give equal bytes, and
 * every number reads back to the same float64.
 *
 * @throws ZodError where the document does not keep its own schema.
 */
export function parametersJson(set: ParameterSet): string {
  return `${JSON.stringify(parameterSet.parse(set), null, 2)}\n`;
}

/** The compact form of the parameter set as JSON text without indentation; the same schema, order and numbers. */
export function compactParametersJson(set: ParameterSet): string {
  return `${JSON.stringify(parameterSet.parse(compactParameters(set)))}\n`;
}
