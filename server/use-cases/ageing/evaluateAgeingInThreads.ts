import {
  type AgeingTableInput,
  evaluateAgeingTable,
  joinAgeingCells,
} from '../../assess/ageing/evaluateAgeingTable.ts';
import type { AgeingResult } from '../../contract/ageingResult.ts';
import { type Sharing, shareOut } from '../../threads/shareOut.ts';

/** Pieces of a table at most: small ones end together, and each thread looks at the whole table once. */
const MOST_PIECES = 64;

/**
 * The ageing of a table whose cells are shared out among threads; the same result as {@link evaluateAgeingTable}.
 *
 * @throws RangeError as {@link evaluateAgeingTable}; what `onProgress` throws, which is told of cells
 */
export async function evaluateAgeingInThreads(
  given: AgeingTableInput,
  sharing: Sharing,
): Promise<AgeingResult> {
  const count = given.inputs.length;
  if (sharing.crew === null)
    return evaluateAgeingTable(given.inputs, { ...given.settings, onProgress: sharing.onProgress });
  const each = Math.ceil(count / MOST_PIECES);
  const pieces = Array.from({ length: Math.ceil(count / each) }, (_, i) =>
    Array.from({ length: Math.min(each, count - i * each) }, (_cell, k) => i * each + k),
  );
  const cells = await shareOut('ageing-cells', given, pieces, sharing, ({ length }) => length);
  return joinAgeingCells(given, cells.flat());
}
