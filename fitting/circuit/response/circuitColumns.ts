import type { ColumnModel } from '../../least-squares/index.ts';
import { branchThroughChannel, chargeThroughChannel } from '../channel/throughChannel.ts';
import { type CircuitShape, tauOfStates } from '../sums/gramLayout.ts';
import { type CircuitWindow, currentOfR0, scoredValues, windowCharge } from '../window/circuitWindow.ts';
import type { IntervalCoefficients } from '../window/intervalCoefficients.ts';
import { branchCurrents, coefficientsOfAll } from './branchCurrents.ts';

/** The circuit model as columns (1, i, [q], states) over the rows that count. */
export function circuitColumns(window: CircuitWindow, shape: CircuitShape): ColumnModel {
  const { withSlope, branches } = shape;
  const tauOf = tauOfStates(shape);
  let work: { coefficients: IntervalCoefficients; u: Float64Array; d: Float64Array } | null = null;
  const firstBranch = withSlope ? 3 : 2;
  const { lag } = window;
  return {
    y: scoredValues(window, window.voltageV),
    fill(logTau, basis, derivatives, first) {
      const currentA = currentOfR0(window);
      if (first) {
        basis[0].set(scoredValues(window, new Float64Array(currentA.length).fill(1)));
        basis[1].set(scoredValues(window, currentA));
        if (withSlope) {
          const charge = windowCharge(window);
          const seen = lag === null ? charge : chargeThroughChannel(charge, currentA, lag.lagS);
          basis[2].set(scoredValues(window, seen));
        }
      }
      // Made on demand: most fits never ask for columns.
      work ??= {
        coefficients: coefficientsOfAll(window),
        u: new Float64Array(window.timeS.length),
        d: new Float64Array(window.timeS.length),
      };
      const { coefficients, u, d } = work;
      for (let i = 0; i < tauOf.length; i++) {
        const tauS = Math.exp(logTau[tauOf[i]]);
        const driven = i < branches;
        branchCurrents(window, coefficients, tauS, u, d, driven);
        if (lag !== null) branchThroughChannel(u, d, driven ? currentA : null, tauS, lag.lagS);
        basis[firstBranch + i].set(scoredValues(window, u));
        derivatives[i].set(scoredValues(window, d));
      }
    },
  };
}
