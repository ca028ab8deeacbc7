import { type CircuitWindow, currentBefore } from '../window/circuitWindow.ts';
import { IntervalCoefficients } from '../window/intervalCoefficients.ts';

/**
 * Branch current along a window for one time constant, and its derivative to ln τ: the current through the
 * resistor of an R ∥ C pair driven by the measured current, starting settled. Fills `u` and `d` (rows of the
 * window).
 */
export function branchCurrents(
  window: CircuitWindow,
  coefficients: IntervalCoefficients,
  tauS: number,
  u: Float64Array,
  d: Float64Array,
): void {
  const { currentA } = window;
  const { indexOf, keep, here, before, fade, hereSlope, beforeSlope } = coefficients;
  coefficients.prepare(tauS);
  u[0] = 0;
  d[0] = 0;
  for (let k = 1; k < currentA.length; k++) {
    const e = indexOf[k];
    const then = currentBefore(window, k);
    d[k] = keep[e] * d[k - 1] + fade[e] * u[k - 1] + hereSlope[e] * currentA[k] + beforeSlope[e] * then;
    u[k] = keep[e] * u[k - 1] + here[e] * currentA[k] + before[e] * then;
  }
}

const tables = new WeakMap<CircuitWindow, IntervalCoefficients>();

/** Coefficient tables that cover every interval of a window, whatever its runs; made once for each window. */
export function coefficientsOfAll(window: CircuitWindow): IntervalCoefficients {
  const known = tables.get(window);
  if (known !== undefined) return known;
  const made = new IntervalCoefficients(window, [{ start: 1, end: window.timeS.length }]);
  tables.set(window, made);
  return made;
}
