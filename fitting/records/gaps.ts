/**
 * Time without rows before row `row`, where it is out of proportion: above `shortestS` and more than `times`
 * as long as every one of the three intervals before and after it. Else 0. Slow sampling in long rests is not a
 * gap.
 */
export function gapBefore(timeS: Float64Array, row: number, shortestS = 120, times = 10): number {
  const gap = timeS[row] - timeS[row - 1];
  if (!(gap > shortestS)) return 0;
  let usual = 0;
  for (let i = Math.max(1, row - 3); i < Math.min(timeS.length, row + 4); i++) {
    if (i !== row) usual = Math.max(usual, Math.min(timeS[i] - timeS[i - 1], gap));
  }
  return gap > times * usual ? gap : 0;
}
