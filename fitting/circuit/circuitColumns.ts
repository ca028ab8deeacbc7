import type { ColumnModel } from '../least-squares/separable.ts';
import { branchCurrents, coefficientsOfAll } from './branchCurrents.ts';
import { type CircuitWindow, windowCharge } from './circuitWindow.ts';
import type { IntervalCoefficients } from './intervalCoefficients.ts';

/** The circuit model as columns (1, i, [q], branch currents) over the rows that count. */
export function circuitColumns(window: CircuitWindow, withSlope: boolean): ColumnModel {
  const { firstScored: from } = window;
  let work: { coefficients: IntervalCoefficients; u: Float64Array; d: Float64Array } | null = null;
  const firstBranch = withSlope ? 3 : 2;
  return {
    y: window.voltageV.subarray(from),
    fill(logTau, basis, derivatives, first) {
      if (first) {
        basis[0].fill(1);
        basis[1].set(window.currentA.subarray(from));
        if (withSlope) basis[2].set(windowCharge(window).subarray(from));
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
        basis[firstBranch + i].set(u.subarray(from));
        derivatives[i].set(d.subarray(from));
      }
    },
  };
}
