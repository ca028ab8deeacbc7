import { amplitudeAtEdge, type LaggedEdge } from '../channel/laggedEdges.ts';
import { branchThroughChannel, chargeThroughChannel } from '../channel/throughChannel.ts';
import { branchCurrents, coefficientsOfAll } from '../response/branchCurrents.ts';
import { type CircuitWindow, currentOfR0, scoredValues, windowCharge } from '../window/circuitWindow.ts';
import { circuitValue, type FittedCircuit } from './fitCircuit.ts';

type Circuit = Pick<FittedCircuit, 'branches' | 'withSlope' | 'history' | 'parameters'>;

/**
 * The fitted circuit's voltage at every row of a window, in V. Where the voltage channel lags, it is the
 * voltage that the channel shows, with what is left of each edge at the amplitude that fits the window.
 */
export function circuitVoltage(window: CircuitWindow, circuit: Circuit): Float64Array {
  const voltage = plainVoltage(window, circuit);
  for (const { edge, atEdgeV } of amplitudesBeside(window, voltage)) {
    for (let k = edge.start; k < edge.end; k++) {
      voltage[k] += atEdgeV * edge.norm * edge.shape[k - edge.start];
    }
  }
  return voltage;
}

/** What the measured voltage keeps of each edge beyond a circuit's, in V at the edge itself. */
export function edgeAmplitudes(window: CircuitWindow, circuit: Circuit): EdgeAmplitude[] {
  return amplitudesBeside(window, plainVoltage(window, circuit));
}

/** An edge with the voltage that is left of it. */
export interface EdgeAmplitude {
  readonly edge: LaggedEdge;
  readonly atEdgeV: number;
}

function plainVoltage(window: CircuitWindow, circuit: Circuit): Float64Array {
  const n = window.timeS.length;
  const voltage = new Float64Array(n);
  const ocvV = circuitValue(circuit, 'ocvV');
  const r0Ohm = circuitValue(circuit, 'r0Ohm');
  const { lag } = window;
  const currentA = currentOfR0(window);
  for (let k = 0; k < n; k++) voltage[k] = ocvV + r0Ohm * currentA[k];
  if (circuit.withSlope) {
    const slope = circuitValue(circuit, 'slopeVPerAs');
    const moved = windowCharge(window);
    const charge = lag === null ? moved : chargeThroughChannel(moved, currentA, lag.lagS);
    for (let k = 0; k < n; k++) voltage[k] += slope * charge[k];
  }
  addStates(window, circuit, voltage);
  return voltage;
}

/** Branches, and what earlier currents left. */
function addStates(window: CircuitWindow, circuit: Circuit, voltage: Float64Array): void {
  const { branches, history } = circuit;
  if (branches + history === 0) return;
  const { lag } = window;
  const coefficients = coefficientsOfAll(window);
  const u = new Float64Array(window.timeS.length);
  const d = new Float64Array(window.timeS.length);
  const add = (amplitude: number, tauS: number, driven: boolean): void => {
    branchCurrents(window, coefficients, tauS, u, d, driven);
    if (lag !== null) branchThroughChannel(u, d, driven ? currentOfR0(window) : null, tauS, lag.lagS);
    for (let k = 0; k < u.length; k++) voltage[k] += amplitude * u[k];
  };
  for (let i = 1; i <= branches; i++) {
    const tauS = circuitValue(circuit, `tau${i}S`);
    add(circuitValue(circuit, `r${i}Ohm`), tauS, true);
    if (history > 0) add(circuitValue(circuit, `left${i}V`), tauS, false);
  }
  if (history > branches) add(circuitValue(circuit, 'driftV'), circuitValue(circuit, 'tauDriftS'), false);
}

function amplitudesBeside(window: CircuitWindow, fittedV: Float64Array): EdgeAmplitude[] {
  if (window.lag === null) return [];
  const { voltageV, referenceV } = window;
  const left = fittedV.map((fitted, k) => voltageV[k] + referenceV - fitted);
  return window.lag.edges.map((edge) => ({ edge, atEdgeV: amplitudeAtEdge(edge, left) }));
}

/** Measured minus fitted voltage of the rows that count, in V. */
export function circuitResiduals(window: CircuitWindow, circuit: FittedCircuit): Float64Array {
  const fitted = circuitVoltage(window, circuit);
  const { voltageV, referenceV } = window;
  const residuals = fitted.map((voltage, k) => voltageV[k] + referenceV - voltage);
  return scoredValues(window, residuals);
}
