/** The first row whose time is not below `atS`; `timeS` must not decrease between `start` and `end`. */
export function rowAtOrAfter(timeS: Float64Array, atS: number, start = 0, end = timeS.length): number {
  let low = start;
  let high = end;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (timeS[middle] < atS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Rows to draw so that a line through them looks as if every row had been drawn: of every one of `pixels`
 * equal spans of time the first, the lowest, the highest and the last row, in order, so that no peak is lost.
 *
 * @param start first row; @param end row after the last; time must not decrease between them.
 * @returns ascending rows, at most 4 × pixels; all rows where there are no more than that.
 * @throws RangeError where `pixels` is below 1 or the rows are out of range.
 */
export function rowsForDisplay(
  timeS: Float64Array,
  values: Float64Array,
  pixels: number,
  start = 0,
  end = timeS.length,
): Int32Array {
  if (!(pixels >= 1)) throw new RangeError(`pixels is ${pixels}; at least 1 is needed`);
  if (start < 0 || end > timeS.length || start > end) {
    throw new RangeError(`rows ${start} to ${end} are outside 0 to ${timeS.length}`);
  }
  const count = end - start;
  if (count <= 4 * pixels) return Int32Array.from({ length: count }, (_, i) => start + i);
  const rows = new Int32Array(4 * Math.floor(pixels));
  const fromS = timeS[start];
  const spanS = (timeS[end - 1] - fromS) / Math.floor(pixels);
  let written = 0;
  let row = start;
  for (let pixel = 0; pixel < Math.floor(pixels) && row < end; pixel++) {
    const last = pixel === Math.floor(pixels) - 1;
    const untilS = fromS + (pixel + 1) * spanS;
    const first = row;
    let lowest = row;
    let highest = row;
    while (row < end && (last || timeS[row] < untilS)) {
      if (values[row] < values[lowest]) lowest = row;
      else if (values[row] > values[highest]) highest = row;
      row++;
    }
    if (row === first) continue;
    const early = Math.min(lowest, highest);
    const late = Math.max(lowest, highest);
    rows[written++] = first;
    if (early > first) rows[written++] = early;
    if (late > early && late > first) rows[written++] = late;
    if (row - 1 > Math.max(late, first)) rows[written++] = row - 1;
  }
  return rows.slice(0, written);
}
