const kept = new Map<string, Float64Array[]>();

/**
 * Columns for what lasts no longer than one call of `add`: shared by all fits, because thousands of fits a record would
 * else leave tens of megabytes to be collected. What is in them is not 0.
 *
 * @param use one name for each user; two that are at work at the same time have two
 */
export function workColumns(use: string, count: number, rows: number): readonly Float64Array[] {
  const columns = kept.get(use) ?? [];
  kept.set(use, columns);
  for (let i = 0; i < count; i++) {
    if (columns.length <= i || columns[i].length < rows) columns[i] = new Float64Array(roomFor(rows));
  }
  return columns;
}

/** In powers of two, so that windows of growing length do not ask for new columns each time. */
function roomFor(rows: number): number {
  return 2 ** Math.ceil(Math.log2(Math.max(rows, 256)));
}
