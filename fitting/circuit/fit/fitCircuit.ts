import type { FitResult, Termination, UncertaintyReason } from '../../least-squares/index.ts';
import { createSeparableSolver, type SeparableSolver } from '../../least-squares/index.ts';
import { circuitColumns } from '../response/circuitColumns.ts';
import { CircuitGram } from '../sums/circuitGram.ts';
import { type CircuitShape, tauOfStates } from '../sums/gramLayout.ts';
import type { CircuitWindow } from '../window/circuitWindow.ts';
import { defaultStarts, tauBounds } from './tauRange.ts';

/** One parameter of a fitted circuit. */
export interface CircuitParameter {
  readonly name: string;
  /** SI: V, V/(A s), Ohm, s. */
  readonly value: number;
  readonly standardError: number | null;
  readonly reason: UncertaintyReason | null;
}

/**
 * A fitted circuit model OCV + slope·charge + R0·i + Σ Rⱼ·uⱼ + what earlier currents left, branches in the order of
 * their time constants.
 */
export interface FittedCircuit extends CircuitShape {
  /**
   * `ocvV, [slopeVPerAs], r0Ohm, r1Ohm, tau1S, r2Ohm, tau2S …`, then where there is a history `left1V, left2V …`: what
   * each branch still holds at the first row; then `driftV, tauDriftS` of a term with a time constant of its own.
   */
  readonly parameters: readonly CircuitParameter[];
  /** In the order of `parameters`, from the full Jacobian. */
  readonly covariance: readonly (readonly number[])[] | null;
  readonly residualSumOfSquares: number;
  readonly residualSdV: number;
  readonly rows: number;
  readonly termination: Termination;
  readonly converged: boolean;
  readonly evaluations: number;
  readonly condition: number | null;
}

export interface CircuitFitOptions {
  /** 0 to 3. */
  readonly branches: number;
  /** Fit the change of OCV with charge too. Default false. */
  readonly withSlope?: boolean;
  /** Terms that earlier currents left: 0 (default), one for each branch, or one more. */
  readonly history?: number;
  /** Starts for the time constants in s, each with one entry per branch. Default: a grid over the bounds. */
  readonly starts?: readonly (readonly number[])[];
  /**
   * Bounds of every time constant in s. Default: a third of the shortest interval to twice the loaded and
   * following time.
   */
  readonly tauMinS?: number;
  readonly tauMaxS?: number;
  /**
   * For a contender among several: no finish by QR where it is ill-conditioned, no second look at other
   * starts, few iterations, and a stop at an offset of 1e-4 (a tenth of what Bates and Watts 1988, 2.2.3, ask
   * for). Default false.
   */
  readonly quick?: boolean;
}

/** How much slower than a branch a drift may be. */
const SLOWEST_DRIFT = 10;

const solvers = new Map<string, SeparableSolver>();

/** Work arrays are kept for each shape of the model: fits of one shape come by the thousand. */
function solverFor(shape: CircuitShape, quick: boolean): SeparableSolver {
  const { branches, withSlope, history } = shape;
  const key = `${branches}${withSlope}${history}${quick}`;
  const known = solvers.get(key);
  if (known !== undefined) return known;
  const numbers = Array.from({ length: branches }, (_, i) => i + 1);
  const left = Array.from({ length: history }, (_, i) => i + 1);
  const taus = Array.from({ length: Math.max(branches, history) }, (_, i) => i + 1);
  const firstBranch = withSlope ? 3 : 2;
  const columns = {
    linear: [
      { name: 'ocvV', unit: 'V' },
      { name: 'r0Ohm', unit: 'Ohm' },
      ...(withSlope ? [{ name: 'slopeVPerAs', unit: 'V/(A s)' }] : []),
      ...numbers.map((i) => ({ name: `r${i}Ohm`, unit: 'Ohm' })),
      ...left.map((i) => ({ name: `left${i}V`, unit: 'V' })),
    ],
    nonlinear: taus.map((i) => ({ name: `logTau${i}`, unit: '1', start: i, maxStep: 1.5 })),
    derivatives: tauOfStates(shape).map((tau, state) => ({ basis: firstBranch + state, nonlinear: tau })),
  };
  const solver = createSeparableSolver(
    columns,
    quick ? { polish: 'never', refine: 2, maxIterations: 20, offsetTolerance: 1e-4 } : {},
  );
  solvers.set(key, solver);
  return solver;
}

/**
 * Fits the circuit model with a given number of branches to a window: separable least squares on the
 * logarithms of the time constants, everything else solved exactly. Resistances are not forced to be
 * positive: a negative one is a sign that the branch is not there.
 *
 * @throws RangeError for a number of branches outside 0…3
 */
export function fitCircuit(window: CircuitWindow, options: CircuitFitOptions): FittedCircuit {
  const { branches, withSlope = false, history = 0 } = options;
  if (!Number.isInteger(branches) || branches < 0 || branches > 3) {
    throw new RangeError(`branches is ${branches}; a circuit has 0 to 3`);
  }
  if (history !== 0 && history !== branches && history !== branches + 1) {
    throw new RangeError(
      `history is ${history}; with ${branches} branches it is 0, ${branches} or ${branches + 1}`,
    );
  }
  const shape: CircuitShape = { branches, withSlope, history };
  const taus = Math.max(branches, history);
  const range = tauBounds(window);
  const low = Math.log(options.tauMinS ?? range.minS);
  const high = Math.log(options.tauMaxS ?? range.maxS);
  const starts = options.starts?.map((start) => start.map(Math.log)) ?? defaultStarts(taus, low, high);
  const gram = new CircuitGram(window, shape);
  const bounds = { min: new Array(taus).fill(low), max: new Array(taus).fill(high) };
  // A drift may be slower than any branch that the window can show.
  if (history > branches) bounds.max[branches] = high + Math.log(SLOWEST_DRIFT);
  const solver = solverFor(shape, options.quick ?? false);
  const model = {
    points: gram.points,
    accumulate: (logTau: Float64Array, sums: Float64Array) => gram.accumulate(logTau, sums),
    columns: () => circuitColumns(window, shape),
  };
  let result = solver.solve(model, starts, bounds);
  if (options.starts !== undefined && !options.quick && isSuspect(result, shape, low, high)) {
    const other = solver.solve(model, defaultStarts(taus, low, high), bounds);
    const evaluations = result.evaluations + other.evaluations;
    const better = (other.residualSumOfSquares ?? Infinity) < (result.residualSumOfSquares ?? Infinity);
    result = { ...(better ? other : result), evaluations };
  }
  return toCircuit(result, window, shape);
}

/**
 * Signs that a start led to a side valley of the sum of squares: no convergence, a time constant at its
 * bound, two that run into each other, or a negative resistance. Then a grid of starts is tried as well.
 */
function isSuspect(result: FitResult, shape: CircuitShape, low: number, high: number): boolean {
  if (!result.converged) return true;
  const { branches, history, withSlope } = shape;
  const firstBranch = withSlope ? 3 : 2;
  const ohms = result.parameters.slice(firstBranch, firstBranch + branches);
  const logs = result.parameters.slice(firstBranch + branches + history).map((p) => p.value);
  if (logs.some((log) => log < low + 0.05 || log > high - 0.05)) return true;
  const sorted = [...logs].sort((a, b) => a - b);
  if (sorted.some((log, i) => i > 0 && log - sorted[i - 1] < 0.5)) return true;
  return ohms.some((ohm) => ohm.value < 0);
}

/** Orders the branches by time constant and carries the covariance of ln τ over to τ (∂τ/∂ln τ = τ). */
function toCircuit(result: FitResult, window: CircuitWindow, shape: CircuitShape): FittedCircuit {
  const { parameters } = result;
  const { branches, withSlope, history } = shape;
  const firstBranch = withSlope ? 3 : 2;
  const firstTau = firstBranch + branches + history;
  const order = Array.from({ length: branches }, (_, i) => i).sort(
    (a, b) => parameters[firstTau + a].value - parameters[firstTau + b].value,
  );
  const places: { index: number; name: string; tau: boolean }[] = [{ index: 0, name: 'ocvV', tau: false }];
  if (withSlope) places.push({ index: 2, name: 'slopeVPerAs', tau: false });
  places.push({ index: 1, name: 'r0Ohm', tau: false });
  order.forEach((branch, i) => {
    places.push({ index: firstBranch + branch, name: `r${i + 1}Ohm`, tau: false });
    places.push({ index: firstTau + branch, name: `tau${i + 1}S`, tau: true });
  });
  if (history > 0) {
    order.forEach((branch, i) => {
      places.push({ index: firstBranch + branches + branch, name: `left${i + 1}V`, tau: false });
    });
  }
  if (history > branches) {
    places.push({ index: firstBranch + 2 * branches, name: 'driftV', tau: false });
    places.push({ index: firstTau + branches, name: 'tauDriftS', tau: true });
  }
  const factors = places.map((place) => (place.tau ? Math.exp(parameters[place.index].value) : 1));
  const { covariance } = result;
  return {
    ...shape,
    parameters: places.map((place, i) => {
      const { value, standardError, reason } = parameters[place.index];
      return {
        name: place.name,
        value: place.tau ? factors[i] : place.index === 0 ? value + window.referenceV : value,
        standardError: standardError === null ? null : standardError * factors[i],
        reason,
      };
    }),
    covariance:
      covariance === null
        ? null
        : places.map((a, i) => places.map((b, j) => covariance[a.index][b.index] * factors[i] * factors[j])),
    residualSumOfSquares: result.residualSumOfSquares ?? Number.NaN,
    residualSdV: result.residualSd ?? Number.NaN,
    rows: result.points,
    termination: result.termination,
    converged: result.converged,
    evaluations: result.evaluations,
    condition: result.condition,
  };
}

/** The value of a parameter of a fitted circuit; NaN where the circuit does not have it. */
export function circuitValue(circuit: Pick<FittedCircuit, 'parameters'>, name: string): number {
  return circuit.parameters.find((parameter) => parameter.name === name)?.value ?? Number.NaN;
}
