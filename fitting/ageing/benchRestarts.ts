import type { CleanSeries } from './cleanSeries.ts';

/** The first cycles of a new cell step about while it settles: no sign of a restart. */
const SETTLING_POINTS = 10;
/** Fewest series that must show it. */
const LEAST_SERIES = 5;
const LEAST_SHARE = 0.4;
/** Chance that a lot without a restart shows one, over all positions. */
const CHANCE = 1e-3;

/**
 * Positions at which a whole bench stopped and restarted: the x at which at least five series, and two fifths of those that
 * reach it, show a point left out as a spike or recovery, or a step of more than 6 times their noise, and so many more
 * than their own rate of such points explains (binomial tail below one in a thousand over all positions). Cells that are
 * tested alike and recover after each rest show steps everywhere; that is not a restart. Neighbouring positions count as one.
 *
 * @param series one for each cell, with the x of all its points
 * @param reach how near to one another the positions may lie, in units of x
 */
export function benchRestarts(
  series: readonly { readonly x: Float64Array; readonly clean: CleanSeries }[],
  reach = 6,
): number[] {
  const votes = new Map<number, number>();
  const rates = series.map((one) => {
    const cells = votesOf(one, reach);
    for (const cell of cells) votes.set(cell, (votes.get(cell) ?? 0) + 1);
    const range = one.x.length === 0 ? 0 : (one.x[one.x.length - 1] - one.x[0]) / reach;
    return { last: one.x[one.x.length - 1] ?? -1, rate: Math.min(cells.size / Math.max(range, 1), 1) };
  });
  const restarts: number[] = [];
  for (const cell of [...votes.keys()].sort((a, b) => a - b)) {
    const at = cell * reach;
    const alive = rates.filter(({ last }) => last >= at);
    const count = votes.get(cell) ?? 0;
    if (count < LEAST_SERIES || count < LEAST_SHARE * alive.length) continue;
    const rate = alive.reduce((sum, one) => sum + one.rate, 0) / alive.length;
    if (binomialTail(alive.length, rate, count) > CHANCE / votes.size) continue;
    if (restarts.length > 0 && at - restarts[restarts.length - 1] <= 3 * reach) continue;
    restarts.push(at);
  }
  return restarts;
}

function votesOf({ x, clean }: { x: Float64Array; clean: CleanSeries }, reach: number): Set<number> {
  const cells = new Set<number>();
  for (const { index, reason } of clean.leftOut) {
    if (reason === 'spike' || reason === 'recovery') cells.add(Math.round(x[index] / reach));
  }
  for (let k = SETTLING_POINTS; k < clean.x.length; k++) {
    if (isStep(clean, k)) cells.add(Math.round(clean.x[k] / reach));
  }
  return cells;
}

/** P(at least `count` of `trials`), each with probability `rate`. */
function binomialTail(trials: number, rate: number, count: number): number {
  if (rate >= 1) return 1;
  let term = (1 - rate) ** trials;
  let sum = 0;
  for (let k = 0; k <= trials; k++) {
    if (k >= count) sum += term;
    term *= ((trials - k) / (k + 1)) * (rate / (1 - rate));
  }
  return sum;
}

/** Whether the series steps by more than 6 times its noise between points k − 1 and k, its trend allowed for. */
function isStep(clean: CleanSeries, k: number): boolean {
  const { y, smooth, noise } = clean;
  const from = Math.max(0, k - 4);
  const to = Math.min(y.length - 1, k + 3);
  const trend = (smooth[to] - smooth[from]) / (to - from);
  return Math.abs(y[k] - y[k - 1] - trend) > 6 * Math.max(noise, 2e-4 * Math.abs(y[k]));
}
