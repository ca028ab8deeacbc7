/** Where a cell's measured voltage stays on one side of the computed one: a stretch in SOC with its mean. */
export interface DeviationStretch {
  readonly fromSoc: number;
  readonly toSoc: number;
  readonly fromTimeS: number;
  readonly meanV: number;
}

/** Width over which residuals are averaged before a stretch is looked for, as a share of the rows. */
const SMOOTH_SHARE = 0.02;

/**
 * The stretch in which a cell deviates most: the longest run of rows in which the running mean of measured minus computed voltage stays
 * beyond a limit on one side, weighted by its size; null where it never does.
 *
 * @param residualV measured minus computed voltage by row
 * @param soc of the same rows
 */
export function mainDeviation(
  timeS: Float64Array,
  soc: Float64Array,
  residualV: Float64Array,
  limitV: number,
): DeviationStretch | null {
  const smooth = runningMean(residualV, Math.max(1, Math.round(SMOOTH_SHARE * residualV.length)));
  let best: { start: number; end: number; area: number } | null = null;
  for (let start = 0; start < smooth.length; ) {
    const side = Math.abs(smooth[start]) > limitV ? Math.sign(smooth[start]) : 0;
    let end = start;
    let area = 0;
    while (end < smooth.length && side !== 0 && side * smooth[end] > limitV) area += Math.abs(smooth[end++]);
    if (side !== 0 && (best === null || area > best.area)) best = { start, end, area };
    start = Math.max(end, start + 1);
  }
  if (best === null) return null;
  const { start, end } = best;
  let sum = 0;
  for (let row = start; row < end; row++) sum += residualV[row];
  return {
    fromSoc: soc[start],
    toSoc: soc[end - 1],
    fromTimeS: timeS[start],
    meanV: sum / (end - start),
  };
}

function runningMean(values: Float64Array, half: number): Float64Array {
  const sums = new Float64Array(values.length + 1);
  for (let i = 0; i < values.length; i++) sums[i + 1] = sums[i] + values[i];
  return values.map((_, i) => {
    const from = Math.max(0, i - half);
    const to = Math.min(values.length, i + half + 1);
    return (sums[to] - sums[from]) / (to - from);
  });
}
