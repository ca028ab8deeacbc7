import { aicc } from '../least-squares/modelChoice.ts';
import { circuitResiduals } from './circuitResiduals.ts';
import type { CircuitWindow } from './circuitWindow.ts';
import { circuitValue, type FittedCircuit, fitCircuit } from './fitCircuit.ts';
import { quantisationCovariance } from './quantisationCovariance.ts';
import { checkResiduals, type ResidualCheck } from './residualCheck.ts';
import { type TauRange, tauBounds } from './tauRange.ts';

/** Why a number of branches was not taken. */
export type CircuitRefusal =
  | 'too-few-rows'
  | 'not-converged'
  | 'not-identifiable'
  | 'negative-resistance'
  | 'tau-below-sampling'
  | 'tau-beyond-record'
  | 'tau-uncertain'
  | 'resistance-not-significant'
  | 'branches-coincide'
  | 'slope-not-significant'
  | 'aicc-higher';

/** One contender. */
export interface CircuitCandidate {
  readonly branches: number;
  readonly withSlope: boolean;
  readonly aicc: number | null;
  readonly residualSdV: number | null;
  readonly chosen: boolean;
  readonly reason: CircuitRefusal | null;
}

/** The circuit that the data carry, with the errors that its residuals allow. */
export interface ChosenCircuit {
  readonly circuit: FittedCircuit;
  readonly residuals: ResidualCheck;
  /** How much correlated residuals widened the standard errors. */
  readonly standardErrorFactor: number;
  /** In the order of the circuit's parameters, widened for correlated residuals and for quantisation; null where there is none. */
  readonly covariance: readonly (readonly number[])[] | null;
  /** AICc on the independent rows. */
  readonly aicc: number | null;
  readonly candidates: readonly CircuitCandidate[];
}

export interface ChooseOptions {
  /** Default 3. */
  readonly maxBranches?: number;
  /** Quantisation of the voltage in V: the residual variance is not taken for less than step²/12. Default 0. */
  readonly resolutionV?: number;
  /** Whether the slope of the OCV may be fitted. Default true. */
  readonly allowSlope?: boolean;
}

/** Rows beyond the number of parameters that a fit needs. */
const SPARE_ROWS = 4;

/**
 * Fits 0 to `maxBranches` branches and takes the smallest AICc among those that the data identify.
 *
 * A branch is refused, with the reason, when its time constant lies below the sampling or beyond the record, is
 * uncertain by more than half of itself, when its resistance is negative or within 2.5 standard errors of zero, or two time constants are
 * closer than a factor of 2. Where neighbouring residuals are correlated, AICc counts independent rows only and all standard errors are widened by
 * the square root of the rows per independent row; quantisation of the voltage adds its part (`quantisationCovariance`).
 *
 * @returns null where there are too few rows even for OCV and R0
 */
export function chooseCircuit(window: CircuitWindow, options: ChooseOptions = {}): ChosenCircuit | null {
  const { maxBranches = 3, resolutionV = 0, allowSlope = true } = options;
  const range = tauBounds(window);
  const rows = window.scoredRows;
  const tried: Tried[] = [];
  for (let branches = 0; branches <= maxBranches; branches++) {
    tried.push(tryCircuit(window, branches, false, rows, range, resolutionV));
    if (tried[branches].refusal === 'too-few-rows') break;
  }
  if (allowSlope) {
    // A charge moved for good bends the relaxation: without the slope, a branch that is there may be refused for it.
    const best = tried.reduce((a, b) => (b.refusal === null ? b : a));
    const most = tried.filter((one) => one.fitted !== null).length - 1;
    for (let branches = Math.max(best.branches - 1, 0); branches <= most; branches++) {
      tried.push(tryCircuit(window, branches, true, rows, range, resolutionV));
    }
  }
  const fit = tried.filter((one): one is Tried & Fitted => one.fitted !== null && one.refusal === null);
  if (fit.length === 0) return null;
  const independent = Math.min(...fit.map((one) => one.fitted.residuals.rowsPerIndependent));
  const values = tried.map((one) => one.fitted && criterion(one.fitted.circuit, independent));
  let chosen = fit[0] as Tried;
  for (const one of fit) {
    const value = values[tried.indexOf(one)] ?? Infinity;
    const margin = one.withSlope && !chosen.withSlope ? 4 : 0;
    if (value + margin < (values[tried.indexOf(chosen)] ?? Infinity)) chosen = one;
  }
  const { circuit, residuals, factor } = chosen.fitted as Measured;
  return {
    circuit,
    residuals,
    standardErrorFactor: factor,
    covariance: widened(window, circuit, factor, resolutionV),
    aicc: values[tried.indexOf(chosen)],
    candidates: tried.map((one, i) => ({
      branches: one.branches,
      withSlope: one.withSlope,
      aicc: values[i],
      residualSdV: one.fitted?.circuit.residualSdV ?? null,
      chosen: one === chosen,
      reason: one === chosen ? null : (one.refusal ?? 'aicc-higher'),
    })),
  };
}

/** Standard error of a parameter of the chosen circuit, from the widened covariance; null where there is none. */
export function chosenError(chosen: ChosenCircuit, name: string): number | null {
  const index = chosen.circuit.parameters.findIndex((parameter) => parameter.name === name);
  return index < 0 || chosen.covariance === null ? null : Math.sqrt(chosen.covariance[index][index]);
}

function widened(
  window: CircuitWindow,
  circuit: FittedCircuit,
  factor: number,
  resolutionV: number,
): number[][] | null {
  if (circuit.covariance === null) return null;
  const quantised = quantisationCovariance(window, circuit, resolutionV);
  return circuit.covariance.map((row, i) =>
    row.map((entry, j) => entry * factor * factor + (quantised?.[i][j] ?? 0)),
  );
}

interface Measured {
  readonly circuit: FittedCircuit;
  readonly residuals: ResidualCheck;
  readonly factor: number;
}

interface Fitted {
  readonly fitted: Measured;
}

interface Tried {
  readonly branches: number;
  readonly withSlope: boolean;
  readonly fitted: Measured | null;
  readonly refusal: CircuitRefusal | null;
}

function tryCircuit(
  window: CircuitWindow,
  branches: number,
  withSlope: boolean,
  rows: number,
  range: TauRange,
  resolutionV: number,
): Tried {
  const parameters = 2 + (withSlope ? 1 : 0) + 2 * branches;
  if (rows < parameters + SPARE_ROWS) return { branches, withSlope, fitted: null, refusal: 'too-few-rows' };
  const circuit = fitWell(window, branches, withSlope);
  const residuals = checkResiduals(circuitResiduals(window, circuit));
  const floor = resolutionV / Math.sqrt(12) / circuit.residualSdV;
  const factor = Math.sqrt(residuals.rowsPerIndependent) * Math.max(1, Number.isFinite(floor) ? floor : 1);
  return {
    branches,
    withSlope,
    fitted: { circuit, residuals, factor },
    refusal: refusalOf(circuit, factor, range),
  };
}

/** Condition above which Gram sums leave fewer than about seven digits. */
const WELL_CONDITIONED = 3e4;

/** Fits on Gram sums, and finishes on the full columns only what is worth it: a converged fit of the ill-conditioned kind. */
function fitWell(window: CircuitWindow, branches: number, withSlope: boolean): FittedCircuit {
  const quick = fitCircuit(window, { branches, withSlope, polish: false });
  if (!quick.converged || quick.condition === null || quick.condition < WELL_CONDITIONED) return quick;
  const taus = quick.parameters.filter((one) => one.name.startsWith('tau')).map((one) => one.value);
  if (quick.parameters.some((one) => one.name !== 'ocvV' && one.value < 0)) return quick;
  return fitCircuit(window, { branches, withSlope, starts: [taus] });
}

function refusalOf(circuit: FittedCircuit, factor: number, range: TauRange): CircuitRefusal | null {
  if (!circuit.converged) return 'not-converged';
  const tau = (i: number): number => circuitValue(circuit, `tau${i}S`);
  for (let i = 1; i <= circuit.branches; i++) {
    if (tau(i) < 0.7 * range.intervalS) return 'tau-below-sampling';
    if (tau(i) > range.lengthS) return 'tau-beyond-record';
    if (circuitValue(circuit, `r${i}Ohm`) < 0) return 'negative-resistance';
    if (i > 1 && tau(i) < 2 * tau(i - 1)) return 'branches-coincide';
  }
  if (circuit.covariance === null) return 'not-identifiable';
  const error = (name: string): number =>
    factor * (circuit.parameters.find((parameter) => parameter.name === name)?.standardError ?? Infinity);
  for (let i = 1; i <= circuit.branches; i++) {
    if (error(`tau${i}S`) > 0.5 * tau(i)) return 'tau-uncertain';
    if (error(`r${i}Ohm`) * 2.5 > circuitValue(circuit, `r${i}Ohm`)) return 'resistance-not-significant';
  }
  if (circuit.withSlope && !(circuitValue(circuit, 'slopeVPerAs') > 3 * error('slopeVPerAs'))) {
    return 'slope-not-significant';
  }
  return null;
}

/** AICc with the rows counted that are independent. */
function criterion(circuit: FittedCircuit, rowsPerIndependent: number): number | null {
  return aicc({
    residualSumOfSquares: circuit.residualSumOfSquares / rowsPerIndependent,
    points: circuit.rows / rowsPerIndependent,
    freeParameters: circuit.parameters.length,
  }).value;
}
