import { numericGradient } from '../numeric/numericGradient.ts';
import { checkSample, mean } from './sample.ts';

/** Means of readings taken together, with the covariance of the means. */
export interface CorrelatedMeans {
  readonly means: readonly number[];
  /** Covariance of the means: Σ(aᵢ − ā)(bᵢ − b̄)/(n(n − 1)) (GUM 5.2.3, equation 17). */
  readonly covariance: readonly (readonly number[])[];
  readonly readings: number;
}

/**
 * Type A evaluation of several quantities read simultaneously (JCGM 100:2008, 4.2 and 5.2.3).
 *
 * @param columns one list of readings for each quantity, all as long
 * @throws RangeError for lengths that differ or fewer than 2 readings
 */
export function correlatedMeans(columns: readonly ArrayLike<number>[]): CorrelatedMeans {
  if (columns.length === 0) throw new RangeError('columns must hold at least one quantity');
  const readings = columns[0].length;
  columns.forEach((column, c) => {
    checkSample(column, 2, `columns[${c}]`);
    if (column.length !== readings)
      throw new RangeError(`columns[${c}] holds ${column.length} readings, not ${readings}`);
  });
  const means = columns.map(mean);
  const covariance = columns.map((a, i) =>
    columns.map((b, j) => {
      let sum = 0;
      for (let k = 0; k < readings; k++) sum += (a[k] - means[i]) * (b[k] - means[j]);
      return sum / (readings * (readings - 1));
    }),
  );
  return { means, covariance, readings };
}

export interface PropagatedUncertainty {
  readonly values: readonly number[];
  readonly standardUncertainties: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  /** 0 off the diagonal where an output has no uncertainty. */
  readonly correlation: readonly (readonly number[])[];
  /** Sensitivity coefficients: sensitivities[output][input]. */
  readonly sensitivities: readonly (readonly number[])[];
}

/**
 * Law of propagation of uncertainty with correlated inputs, for any number of outputs: U_y = J U_x Jᵀ (JCGM
 * 100:2008, 5.2; JCGM 102:2011, 6.2). First order.
 *
 * @param model outputs as a function of the inputs
 * @param inputs their values
 * @param covariance of the inputs: n×n, symmetric, diagonal not negative
 * @throws RangeError for sizes that do not match, an asymmetric matrix or correlations beyond ±1
 */
export function propagateUncertainty(
  model: (inputs: Float64Array) => readonly number[],
  inputs: ArrayLike<number>,
  covariance: readonly (readonly number[])[],
): PropagatedUncertainty {
  checkSample(inputs, 1, 'inputs');
  checkCovariance(covariance, inputs.length);
  const values = model(Float64Array.from(inputs));
  const sizes = covariance.map((row, i) => Math.sqrt(row[i]));
  const sensitivities = values.map((_, k) => Array.from(numericGradient((x) => model(x)[k], inputs, sizes)));
  const output = sensitivities.map((a) =>
    sensitivities.map((b) => {
      let sum = 0;
      covariance.forEach((row, i) => {
        row.forEach((entry, j) => {
          sum += a[i] * entry * b[j];
        });
      });
      return sum;
    }),
  );
  const standardUncertainties = output.map((row, k) => Math.sqrt(Math.max(0, row[k])));
  const correlation = output.map((row, i) =>
    row.map((entry, j) => {
      if (i === j) return 1;
      const scale = standardUncertainties[i] * standardUncertainties[j];
      return scale > 0 ? entry / scale : 0;
    }),
  );
  return { values, standardUncertainties, covariance: output, correlation, sensitivities };
}

function checkCovariance(covariance: readonly (readonly number[])[], n: number): void {
  if (covariance.length !== n)
    throw new RangeError(`covariance holds ${covariance.length} rows for ${n} inputs`);
  covariance.forEach((row, i) => {
    if (row.length !== n)
      throw new RangeError(`covariance[${i}] holds ${row.length} entries for ${n} inputs`);
    row.forEach((entry, j) => {
      const scale = Math.sqrt(covariance[i][i] * covariance[j][j]);
      if (!Number.isFinite(entry))
        throw new RangeError(`covariance[${i}][${j}] must be finite, got ${entry}`);
      if (i === j && entry < 0)
        throw new RangeError(`covariance[${i}][${i}] must not be negative, got ${entry}`);
      if (Math.abs(entry - covariance[j][i]) > 1e-9 * scale)
        throw new RangeError(`covariance[${i}][${j}] is not symmetric`);
      if (Math.abs(entry) > scale * (1 + 1e-9))
        throw new RangeError(`covariance[${i}][${j}] is a correlation beyond 1`);
    });
  });
}

/** One independent contribution to a combined uncertainty: cᵢu(xᵢ), and the degrees of freedom of u. */
export interface Contribution {
  readonly standardUncertainty: number;
  /** Infinity where it is taken as known. */
  readonly degreesOfFreedom: number;
}

/**
 * Effective degrees of freedom by Welch and Satterthwaite, u⁴/Σ(uᵢ⁴/νᵢ) (JCGM 100:2008, G.4). Contributions
 * must be independent.
 *
 * @returns combined standard uncertainty and effective degrees of freedom (Infinity where no contribution
 * limits them)
 * @throws RangeError for negative uncertainties or degrees of freedom ≤ 0
 */
export function welchSatterthwaite(contributions: readonly Contribution[]): {
  readonly combined: number;
  readonly degreesOfFreedom: number;
} {
  let square = 0;
  let below = 0;
  contributions.forEach(({ standardUncertainty: u, degreesOfFreedom }, i) => {
    if (!(u >= 0 && u < Infinity))
      throw new RangeError(`contributions[${i}].standardUncertainty must not be negative`);
    if (!(degreesOfFreedom > 0))
      throw new RangeError(`contributions[${i}].degreesOfFreedom must be positive`);
    square += u * u;
    below += u ** 4 / degreesOfFreedom;
  });
  return { combined: Math.sqrt(square), degreesOfFreedom: below > 0 ? (square * square) / below : Infinity };
}
