import { checkResiduals } from '../circuit/index.ts';
import { secondDifferenceNoise } from '../numeric/index.ts';
import { columnResolution } from '../records/index.ts';
import type { LogProblem } from './logProblem.ts';

/** Residuals of one cell in one log: measured minus computed voltage at the rows that take part. */
export interface ResidualSummary {
  readonly log: number;
  readonly cell: number;
  readonly rows: number;
  readonly biasV: number;
  readonly rmsV: number;
  readonly largestV: number;
  readonly largestTimeS: number;
}

/** Measured minus computed voltage of one cell at the rows that take part. */
export function residualsOf(
  problem: LogProblem,
  values: ArrayLike<number>,
  log: number,
  cell: number,
): Float64Array {
  const voltages = problem.voltages(values, log, cell);
  const { start } = problem.range(log, cell);
  return Float64Array.from(problem.logs[log].settled, (row, i) => problem.y[start + i] - voltages[row]);
}

/** Residuals by log and cell. */
export function summarise(problem: LogProblem, values: ArrayLike<number>): ResidualSummary[] {
  return problem.logs.flatMap((log, l) =>
    log.voltageV.map((_, k) => {
      const residuals = residualsOf(problem, values, l, k);
      let [sum, square, largest, at] = [0, 0, 0, 0];
      residuals.forEach((r, i) => {
        sum += r;
        square += r * r;
        if (Math.abs(r) > Math.abs(largest)) [largest, at] = [r, i];
      });
      return {
        log: l,
        cell: k,
        rows: residuals.length,
        biasV: sum / residuals.length,
        rmsV: Math.sqrt(square / residuals.length),
        largestV: largest,
        largestTimeS: log.timeS[log.settled[at]],
      };
    }),
  );
}

/** Mean square of the residuals over the variance of noise, resolution and curve; a mean of rows has the noise of as many. */
export function misfitOf(
  problem: LogProblem,
  values: Float64Array,
  noise: readonly (readonly number[])[],
): number {
  let [sum, count] = [0, 0];
  problem.logs.forEach(({ rows, settled, voltageV }, l) => {
    voltageV.forEach((_, k) => {
      residualsOf(problem, values, l, k).forEach((residual, i) => {
        sum += residual ** 2 / (noise[l][k] / rows[settled[i]] + problem.remainderV2(k));
        count += 1;
      });
    });
  });
  return sum / count;
}

/** By how much the variance of a cell's points must be widened: excess over noise × rows per independent row. */
export function excess(
  problem: LogProblem,
  values: Float64Array,
  log: number,
  cell: number,
  variance: number,
): number {
  const residuals = residualsOf(problem, values, log, cell);
  const { rows, settled } = problem.logs[log];
  const meanSquare = residuals.reduce((sum, r, i) => sum + r * r * rows[settled[i]], 0) / residuals.length;
  const { rowsPerIndependent } = checkResiduals(residuals);
  return Math.max(1, meanSquare / variance) * rowsPerIndependent;
}

/** Variance of noise and quantisation of a voltage column, at least that of a channel of 20 µV. */
export function voltageVariance(voltageV: Float64Array): number {
  const noise = secondDifferenceNoise(voltageV, () => true);
  return Math.max(noise ** 2, columnResolution(voltageV) ** 2 / 12, 4e-10);
}
