import { dotProduct } from '../../numeric/index.ts';
import type { CheckedSeparable } from './checkSeparable.ts';
import type { ColumnModel, GramModel } from './separableProblem.ts';

/**
 * A Gram model that forms its sums from a column model's columns (for callers without an own one-pass sum).
 */
export function gramFromColumns(model: ColumnModel, checked: CheckedSeparable): GramModel {
  const { y, weights } = model;
  const points = y.length;
  const basis = Array.from({ length: checked.linearCount }, () => new Float64Array(points));
  const derivatives = checked.derivatives.map(() => new Float64Array(points));
  const columns = [...basis, ...derivatives, y];
  const side = columns.length;
  let first = true;
  let counted = points;
  if (weights) for (let i = 0; i < points; i++) if (weights[i] === 0) counted--;
  return {
    points: counted,
    columns: model,
    accumulate(nonlinear, gram) {
      model.fill(nonlinear, basis, derivatives, first);
      first = false;
      for (let a = 0; a < side; a++) {
        for (let b = a; b < side; b++) {
          gram[a * side + b] = weights
            ? weightedProduct(columns[a], columns[b], weights)
            : dotProduct(columns[a], columns[b]);
        }
      }
    },
  };
}

function weightedProduct(a: Float64Array, b: Float64Array, weights: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += weights[i] === 0 ? 0 : weights[i] * a[i] * b[i];
  return sum;
}
