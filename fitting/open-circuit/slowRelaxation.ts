import { aicc } from '../least-squares/index.ts';

/** A rest after a long steady load. */
export interface RestAfterLoad {
  /** From the end of the load. */
  readonly timeS: Float64Array;
  readonly voltageV: Float64Array;
  /** Current of the load, positive on charge, and how long it lasted. */
  readonly currentA: number;
  readonly loadS: number;
  /** Time from the end of the load of the rest listed before this one to the beginning of this load; null where unknown. */
  readonly sinceBeforeS: number | null;
}

/** One slow process: the time constant that all rests share, and the resistance of each rest. */
export interface SlowTerm {
  readonly tauS: number;
  readonly resistanceOhm: readonly number[];
}

/** Before this the relaxation is that of the quick branches, which pulses show. */
export const QUICK_S = 30;
/** Rows of a rest that count, spread evenly over the logarithm of time. */
const MOST_ROWS = 60;
const FEWEST_ROWS = 6;
/** Time constants that are tried, each longer than the one before by the same factor. */
const TRIED = 48;
/** Two time constants closer than this cannot be distinguished by rests. */
const APART = 3;

/**
 * The slow processes that the rests of a record show: V(t) = end + Σ aⱼ exp(−t/τⱼ) with one or two time constants that all
 * rests share and amplitudes of their own, the number by AICc. A cell's relaxation is not one exponential, and a single one
 * that is made to fit takes the slowest part for a shift of the open-circuit voltage.
 *
 * The resistance is the amplitude over what the load built up, aⱼ = −I·Rⱼ·(1 − e^(−L/τⱼ)) + what the rest before had left.
 *
 * @returns ascending in τ; none where the rests have not bent or move by no more than their error
 */
export function slowRelaxation(rests: readonly RestAfterLoad[], errorV: number): SlowTerm[] {
  const parts = rests.map(laterPart);
  const longest = Math.max(0, ...parts.map((part) => part?.t[part.t.length - 1] ?? 0));
  if (!(longest > 2 * QUICK_S)) return [];
  const taus = Array.from({ length: TRIED }, (_, k) => QUICK_S * (longest / QUICK_S) ** (k / (TRIED - 1)));
  const moments = parts.map((part) => (part === null ? null : new RestMoments(part, taus)));
  const used = moments.filter((one) => one !== null);
  if (used.length === 0) return [];
  const rows = used.reduce((sum, one) => sum + one.rows, 0);
  const floor = rows * errorV ** 2;
  const best = [1, 2].map((terms) => bestOf(used, terms));
  const criterion = best.map(
    ({ squares }, k) =>
      aicc({
        residualSumOfSquares: squares + floor,
        points: rows,
        freeParameters: used.length * (k + 2) + k + 1,
      }).value,
  );
  const two = criterion[1] !== null && criterion[0] !== null && criterion[1] < criterion[0];
  const { chosen } = best[two ? 1 : 0];
  // Where the rest has not bent there is no time constant in it.
  if (taus[chosen[chosen.length - 1]] > 0.9 * longest) return two ? termsOf([best[0].chosen[0]]) : [];
  return termsOf(chosen);

  function termsOf(indices: readonly number[]): SlowTerm[] {
    if (taus[indices[indices.length - 1]] > 0.9 * longest) return [];
    const amplitudes = moments.map((one) => one?.amplitudes(indices) ?? indices.map(() => 0));
    const seen = indices.every((_, j) => Math.max(...amplitudes.map((one) => Math.abs(one[j]))) > 3 * errorV);
    if (!seen) return [];
    return indices.map((index, j) => ({
      tauS: taus[index],
      resistanceOhm: resistances(
        rests,
        taus[index],
        amplitudes.map((one) => one[j]),
      ),
    }));
  }
}

/** What each load built up, over its current; a rest that shows the opposite has none. */
function resistances(rests: readonly RestAfterLoad[], tauS: number, amplitudes: readonly number[]): number[] {
  return rests.map(({ currentA, loadS, sinceBeforeS }, k) => {
    const left =
      k === 0 || sinceBeforeS === null ? 0 : amplitudes[k - 1] * Math.exp(-(sinceBeforeS + loadS) / tauS);
    const built = currentA * -Math.expm1(-loadS / tauS);
    return Math.max(0, (amplitudes[k] - left) / built);
  });
}

/** The rows later than {@link QUICK_S}, at most {@link MOST_ROWS} of them. */
function laterPart({ timeS, voltageV }: RestAfterLoad): { t: Float64Array; v: Float64Array } | null {
  const first = timeS.findIndex((time) => time >= QUICK_S);
  const n = timeS.length;
  if (first < 0 || n - first < FEWEST_ROWS) return null;
  const kept: number[] = [];
  const ratio = timeS[n - 1] / timeS[first];
  for (let k = 0, row = first; k < MOST_ROWS && row < n; k++) {
    const due = timeS[first] * ratio ** (k / (MOST_ROWS - 1));
    while (row < n - 1 && timeS[row] < due) row++;
    if (kept[kept.length - 1] !== row) kept.push(row);
  }
  if (kept.length < FEWEST_ROWS) return null;
  return {
    t: Float64Array.from(kept, (row) => timeS[row]),
    v: Float64Array.from(kept, (row) => voltageV[row] - voltageV[n - 1]),
  };
}

/** The best time constants of a number of terms, all rests together. */
function bestOf(rests: readonly RestMoments[], terms: number): { squares: number; chosen: number[] } {
  let best = { squares: Infinity, chosen: [0] };
  const consider = (chosen: number[]): void => {
    let squares = 0;
    for (const rest of rests) squares += rest.squares(chosen);
    if (squares < best.squares) best = { squares, chosen };
  };
  for (let a = 0; a < TRIED; a++) {
    if (terms === 1) consider([a]);
    else
      for (let b = a + 1; b < TRIED; b++) if (rests[0].taus[b] >= APART * rests[0].taus[a]) consider([a, b]);
  }
  return best;
}

/** Sums of one rest for every pair of time constants that is tried. */
class RestMoments {
  readonly taus: readonly number[];
  readonly rows: number;
  private readonly yy: number;
  private readonly y: number;
  private readonly x: number[];
  private readonly xy: number[];
  private readonly xx: number[][];

  constructor({ t, v }: { t: Float64Array; v: Float64Array }, taus: readonly number[]) {
    this.taus = taus;
    this.rows = t.length;
    const columns = taus.map((tauS) => t.map((time) => Math.exp(-time / tauS)));
    const sum = (a: Float64Array): number => a.reduce((total, value) => total + value, 0);
    const dot = (a: Float64Array, b: Float64Array): number => {
      let total = 0;
      for (let k = 0; k < a.length; k++) total += a[k] * b[k];
      return total;
    };
    this.y = sum(v);
    this.yy = dot(v, v);
    this.x = columns.map(sum);
    this.xy = columns.map((column) => dot(column, v));
    this.xx = columns.map((column, i) => columns.slice(0, i + 1).map((other) => dot(column, other)));
  }

  /** Amplitudes of one or two terms beside the end of the relaxation. */
  amplitudes(chosen: readonly number[]): number[] {
    const [a, b] = chosen;
    const { rows, x, xy, y } = this;
    const aa = this.xx[a][a] - (x[a] * x[a]) / rows;
    const ay = xy[a] - (x[a] * y) / rows;
    if (b === undefined) return [aa > 0 ? ay / aa : 0];
    const ab = this.xx[b][a] - (x[a] * x[b]) / rows;
    const bb = this.xx[b][b] - (x[b] * x[b]) / rows;
    const by = xy[b] - (x[b] * y) / rows;
    const determinant = aa * bb - ab * ab;
    if (!(determinant > 0)) return [0, 0];
    return [(ay * bb - by * ab) / determinant, (by * aa - ay * ab) / determinant];
  }

  /** What is left of the sum of squares. */
  squares(chosen: readonly number[]): number {
    const { rows, x, xy, y, yy } = this;
    let left = yy - (y * y) / rows;
    this.amplitudes(chosen).forEach((amplitude, j) => {
      left -= amplitude * (xy[chosen[j]] - (x[chosen[j]] * y) / rows);
    });
    return Math.max(0, left);
  }
}
