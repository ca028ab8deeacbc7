import { dampedStep } from './dampedStep.ts';

/**
 * Damped Newton steps inside a box, for a few variables. What the step would carry across a face of the box
 * is held there, the one that meets it first before the others, and the rest is solved again with it: a step
 * that is merely cut off or shortened creeps along a bound.
 */
export class BoxedStep {
  private readonly n: number;
  private readonly work: Float64Array;
  private readonly pull: Float64Array;
  private readonly free: Uint8Array;
  private readonly trial: Float64Array;

  constructor(n: number) {
    this.n = n;
    this.work = new Float64Array(n * n);
    this.pull = new Float64Array(n);
    this.free = new Uint8Array(n);
    this.trial = new Float64Array(n);
  }

  /**
   * Solves (M + λ diag M) δ = g with low ≤ δ ≤ high for the movable variables; the others get 0.
   *
   * @param matrix M, row-major n×n
   * @param slopes see `dampedStep`
   * @param step filled with δ
   */
  solve(
    matrix: Float64Array,
    gradient: Float64Array,
    damping: number,
    slopes: Float64Array,
    movable: Uint8Array,
    low: Float64Array,
    high: Float64Array,
    step: Float64Array,
  ): void {
    const { n, work, pull, free, trial } = this;
    pull.set(gradient);
    free.set(movable);
    step.fill(0);
    for (let round = 0; round <= n; round++) {
      dampedStep(matrix, n, pull, damping, slopes, free, work, trial);
      let first = -1;
      let least = Infinity;
      for (let k = 0; k < n; k++) {
        if (free[k] === 0) continue;
        step[k] = trial[k];
        if (trial[k] >= low[k] && trial[k] <= high[k]) continue;
        const reach = (trial[k] < low[k] ? low[k] : high[k]) / trial[k];
        if (reach >= least) continue;
        least = reach;
        first = k;
      }
      if (first < 0) return;
      step[first] = trial[first] < low[first] ? low[first] : high[first];
      free[first] = 0;
      for (let j = 0; j < n; j++) if (free[j] === 1) pull[j] -= matrix[j * n + first] * step[first];
    }
  }
}
