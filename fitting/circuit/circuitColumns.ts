import type { ColumnModel } from '../least-squares/separable.ts';
import { branchCurrents, coefficientsOfAll } from './branchCurrents.ts';
import { type CircuitWindow, scoredValues, windowCharge } from './circuitWindow.ts';
import type { IntervalCoefficients } from './intervalCoefficients.ts';

/** The circuit model as columns (1, i, [q], branch currents) over the rows that count. */
export function circuitColumns(window: CircuitWindow, withSlope: boolean): ColumnModel {
  let work: { coefficients: IntervalCoefficients; u: Float64Array; d: Float64Array } | null = null;
  const firstBranch = withSlope ? 3 : 2;
  return {
    y: scoredValues(window, window.voltageV),
    fill(logTau, basis, derivatives, first) {
      if (first) {
        basis[0].fill(1);
        basis[1].set(scoredValues(window, window.currentA));
        if (withSlope) basis[2].set(scoredValues(window, windowCharge(window)));
      }
      // Made on demand: most fits never ask for columns.
      work ??= {
        coefficients: coefficientsOfAll(window),
        u: new Float64Array(window.timeS.length),
        d: new Float64Array(window.timeS.length),
      };
      const { coefficients, u, d } = work;
      for (let i = 0; i < logTau.length; i++) {
        branchCurrents(window, coefficients, Math.exp(logTau[i]), u, d);
        basis[firstBranch + i].set(scoredValues(window, u));
        derivatives[i].set(scoredValues(window, d));
      }
    },
  };
}
