import type { OpenCircuitCurve } from '../contract/openCircuit.ts';
import { reasonSentence } from '../contract/reasons.ts';

/** An open-circuit curve in a line: its points, what it is from, and what its uncertainty takes for granted. */
export function curveLine({ soc, source, assumes }: OpenCircuitCurve): string {
  const line = `open-circuit curve of ${soc.length} points from ${source}`;
  return assumes ? `${line}. ${reasonSentence(assumes)}` : line;
}
