import type { FitResult } from '../least-squares/index.ts';
import type { LogProblem } from './logProblem.ts';

/** Shapes of an error that a whole curve shares: half a wave over the range that the logs went through, then one, and so on. */
const SHAPES = 4;

/**
 * Variance that a smooth error of each cell's open-circuit curve adds to every parameter, in the order of the problem's parameters.
 *
 * The corrections of the fit count the errors of the curve's points as independent, so that many points average them away. Those of a
 * real curve (taken at another age, in one direction, before it had settled) have one sign over a wide range, and bend capacity, start SOC
 * and resistances with them. So the fitted values are moved by cosines over the visited range, each with an equal part of the stated variance:
 * δp = (JᵀWJ)⁻¹ JᵀW δ, what "consider" parameters do to a linear estimate (B. D. Tapley, B. E. Schutz, G. H. Born, Statistical Orbit
 * Determination, 2004, section 6; from memory).
 */
export function curveErrorVariance(
  problem: LogProblem,
  { parameters, covariance }: FitResult,
  weights: Float64Array,
): Float64Array {
  const variance = new Float64Array(parameters.length);
  if (covariance === null || problem.curveSpreadsV.every((spread) => spread === 0)) return variance;
  const values = Float64Array.from(parameters, ({ value }) => value);
  const columns = parameters.map(() => new Float64Array(problem.y.length));
  problem.model.jacobian?.(values, columns);
  problem.curveSpreadsV.forEach((spreadV, cell) => {
    if (spreadV === 0) return;
    const rows = problem.logs.flatMap(({ settled }, log) => {
      const soc = problem.socs(values, log, cell);
      const { start } = problem.range(log, cell);
      return [...settled].map((row, i) => ({ at: start + i, soc: soc[row] }));
    });
    const low = Math.min(...rows.map(({ soc }) => soc));
    const high = Math.max(...rows.map(({ soc }) => soc));
    // The mean square of a cosine is a half.
    const amplitudeV = spreadV * Math.sqrt(2 / SHAPES);
    for (let shape = 1; shape <= SHAPES; shape++) {
      const pull = columns.map((column) =>
        rows.reduce((sum, { at, soc }) => {
          const error = amplitudeV * Math.cos((shape * Math.PI * (soc - low)) / (high - low));
          return sum + column[at] * weights[at] * error;
        }, 0),
      );
      covariance.forEach((row, p) => {
        const moved = row.reduce((sum, value, q) => sum + value * pull[q], 0);
        variance[p] += moved ** 2;
      });
    }
  });
  return variance;
}
