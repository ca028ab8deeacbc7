import { type CircuitWindow, currentBefore } from '../window/circuitWindow.ts';
import { IntervalCoefficients } from '../window/intervalCoefficients.ts';

/**
 * A state along a window for one time constant, and its derivative to ln τ. Driven: the current through the
 * resistor of an R ∥ C pair under the measured current, starting settled. Not driven: what an earlier current left,
 * 1 at the first row. Fills `u` and `d` (rows of the window).
 */
export function branchCurrents(
  window: CircuitWindow,
  coefficients: IntervalCoefficients,
  tauS: number,
  u: Float64Array,
  d: Float64Array,
  driven = true,
): void {
  const { currentA } = window;
  const drive = driven ? 1 : 0;
  const { indexOf, keep, here, before, fade, hereSlope, beforeSlope } = coefficients;
  coefficients.prepare(tauS);
  u[0] = 1 - drive;
  d[0] = 0;
  for (let k = 1; k < currentA.length; k++) {
    const e = indexOf[k];
    const now = drive * currentA[k];
    const then = drive * currentBefore(window, k);
    d[k] = keep[e] * d[k - 1] + fade[e] * u[k - 1] + hereSlope[e] * now + beforeSlope[e] * then;
    u[k] = keep[e] * u[k - 1] + here[e] * now + before[e] * then;
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
