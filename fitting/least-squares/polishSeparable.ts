import type { ParameterState, RawFit } from './assembleResult.ts';
import type { CheckedSeparable } from './checkSeparable.ts';
import { applyQTransposed, curvatureFromQr, factorQr, type QrFactor, solveR } from './qr.ts';
import type { ColumnModel } from './separable.ts';

const MOST_STEPS = 12;
const SMALLEST_STEP = 4e-16;

/**
 * Finishes a separable fit on the samples themselves: Gauss–Newton steps of all free parameters by QR on the full weighted Jacobian
 * [φ, J], so that nothing is squared. A step is kept while the explicitly summed S falls; parameters at a bound stay there.
 *
 * @param raw the fit so far; its states are taken over
 * @param count gets the passes added
 * @returns the better fit, or null where the columns are not finite
 */
export function polishSeparable(
  model: ColumnModel,
  checked: CheckedSeparable,
  raw: RawFit,
  count: { passes: number; readonly min: Float64Array; readonly max: Float64Array },
): RawFit | null {
  const full = new FullJacobian(model, checked);
  const free: number[] = [];
  raw.states.forEach((state: ParameterState, i: number) => {
    if (state === 'free') free.push(i);
  });
  let values = Float64Array.from(raw.values);
  let cost = full.evaluate(values);
  count.passes++;
  if (!Number.isFinite(cost)) return null;
  let factor = factorQr(full.jacobian(values, free));
  let offset = 0;
  let settled = false;
  for (let round = 0; round < MOST_STEPS && !settled; round++) {
    const rotated = full.residual.slice();
    applyQTransposed(factor, rotated);
    offset = relativeOffset(rotated, factor.rank, cost);
    const step = solveR(factor, rotated);
    const next = values.slice();
    settled = true;
    free.forEach((i, f) => {
      const k = i - checked.linearCount;
      const [low, high] = k < 0 ? [checked.linearMin[i], checked.linearMax[i]] : [count.min[k], count.max[k]];
      next[i] = Math.min(Math.max(values[i] + step[f], low), high);
      if (Math.abs(next[i] - values[i]) > SMALLEST_STEP * Math.abs(values[i])) settled = false;
    });
    count.passes++;
    const nextCost = full.evaluate(next);
    if (!(nextCost < cost)) {
      full.evaluate(values);
      break;
    }
    values = next;
    cost = nextCost;
    factor = factorQr(full.jacobian(values, free));
  }
  return {
    ...raw,
    values,
    residualSumOfSquares: cost,
    curvature: curvatureFromQr(factor),
    relativeOffset: offset,
    evaluations: count.passes,
    termination: raw.termination === 'max-iterations' && offset < 1e-6 ? 'gradient' : raw.termination,
  };
}

function relativeOffset(rotated: Float64Array, rank: QrFactor['rank'], cost: number): number {
  if (!(cost > 0)) return 0;
  let inside = 0;
  for (let i = 0; i < rank; i++) inside += rotated[i] * rotated[i];
  return Math.sqrt(Math.min(inside / cost, 1));
}

/** Weighted residuals and full Jacobian of a column model. */
class FullJacobian {
  readonly residual: Float64Array;
  private readonly model: ColumnModel;
  private readonly checked: CheckedSeparable;
  private readonly basis: Float64Array[];
  private readonly derivatives: Float64Array[];
  private readonly root: Float64Array | null;
  private first = true;

  constructor(model: ColumnModel, checked: CheckedSeparable) {
    const points = model.y.length;
    this.model = model;
    this.checked = checked;
    this.residual = new Float64Array(points);
    this.basis = Array.from({ length: checked.linearCount }, () => new Float64Array(points));
    this.derivatives = checked.derivatives.map(() => new Float64Array(points));
    this.root = model.weights ? model.weights.map(Math.sqrt) : null;
  }

  /** Fills the columns and `residual` = √w (y − φc); returns S. */
  evaluate(values: Float64Array): number {
    const p = this.checked.linearCount;
    this.model.fill(values.subarray(p), this.basis, this.derivatives, this.first);
    this.first = false;
    let cost = 0;
    for (let i = 0; i < this.residual.length; i++) {
      let rest = this.model.y[i];
      for (let j = 0; j < p; j++) rest -= values[j] * this.basis[j][i];
      if (this.root) rest = this.root[i] === 0 ? 0 : rest * this.root[i];
      this.residual[i] = rest;
      cost += rest * rest;
    }
    return cost;
  }

  /** New columns √w ∂(φc)/∂parameter of the free parameters, at the values evaluated last. */
  jacobian(values: Float64Array, free: readonly number[]): Float64Array[] {
    const p = this.checked.linearCount;
    return free.map((index) => {
      const column = new Float64Array(this.residual.length);
      if (index < p) column.set(this.basis[index]);
      else {
        this.checked.derivatives.forEach((entry, e) => {
          if (entry.nonlinear !== index - p) return;
          const source = this.derivatives[e];
          for (let i = 0; i < column.length; i++) column[i] += values[entry.basis] * source[i];
        });
      }
      if (this.root)
        for (let i = 0; i < column.length; i++) column[i] = this.root[i] === 0 ? 0 : column[i] * this.root[i];
      return column;
    });
  }
}
