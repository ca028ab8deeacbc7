import { branchCurrents, coefficientsOfAll } from './branchCurrents.ts';
import { type CircuitWindow, scoredValues, windowCharge } from './circuitWindow.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

/** The fitted circuit's voltage at every row of a window, in V. */
export function circuitVoltage(
  window: CircuitWindow,
  circuit: Pick<FittedCircuit, 'branches' | 'withSlope' | 'parameters'>,
): Float64Array {
  const n = window.timeS.length;
  const voltage = new Float64Array(n);
  const ocvV = circuitValue(circuit, 'ocvV');
  const r0Ohm = circuitValue(circuit, 'r0Ohm');
  for (let k = 0; k < n; k++) voltage[k] = ocvV + r0Ohm * window.currentA[k];
  if (circuit.withSlope) {
    const slope = circuitValue(circuit, 'slopeVPerAs');
    const charge = windowCharge(window);
    for (let k = 0; k < n; k++) voltage[k] += slope * charge[k];
  }
  if (circuit.branches === 0) return voltage;
  const coefficients = coefficientsOfAll(window);
  const u = new Float64Array(n);
  const d = new Float64Array(n);
  for (let i = 1; i <= circuit.branches; i++) {
    branchCurrents(window, coefficients, circuitValue(circuit, `tau${i}S`), u, d);
    const ohm = circuitValue(circuit, `r${i}Ohm`);
    for (let k = 0; k < n; k++) voltage[k] += ohm * u[k];
  }
  return voltage;
}

/** Measured minus fitted voltage of the rows that count, in V. */
export function circuitResiduals(window: CircuitWindow, circuit: FittedCircuit): Float64Array {
  const fitted = circuitVoltage(window, circuit);
  const { voltageV, referenceV } = window;
  const residuals = fitted.map((voltage, k) => voltageV[k] + referenceV - voltage);
  return scoredValues(window, residuals);
}
