/** No single cell holds more, in Ah. Common practice, no source: the largest in trade are below. */
export const LARGEST_CELL_AH = 2000;
/** A capacity above this multiple of the rated one is another unit or another cell. Common practice, no source. */
const MOST_OF_RATED = 5;

/**
 * What is wrong with a capacity as a value of one cell, and what was expected; null where it can be.
 *
 * @param ratedAh rated capacity of the cell's type; null where it is not known
 */
export function capacityFault(
  valueAh: number,
  ratedAh: number | null,
): { reason: string; expected: string } | null {
  const most = ratedAh === null ? LARGEST_CELL_AH : Math.min(LARGEST_CELL_AH, MOST_OF_RATED * ratedAh);
  if (!(valueAh > most)) return null;
  return ratedAh === null
    ? { reason: 'no cell has such a capacity', expected: `at most ${most} Ah; is the column in mAh?` }
    : {
        reason: `the cell type is rated ${ratedAh} Ah`,
        expected: `at most ${most} Ah; is the column in mAh, or the lot of another type?`,
      };
}
