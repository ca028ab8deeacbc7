import { aicc } from '../../least-squares/index.ts';
import type { CircuitWindow } from '../window/circuitWindow.ts';
import type { ChosenCircuit } from './chosenCircuit.ts';
import { type CircuitRefusal, refusalOf } from './circuitRefusal.ts';
import { circuitResiduals } from './circuitResiduals.ts';
import { driftOpen } from './driftUncertainty.ts';
import { type FittedCircuit, fitCircuit } from './fitCircuit.ts';
import { NO_SUPPORT } from './isSurpassed.ts';
import { quantisationCovariance } from './quantisationCovariance.ts';
import { checkResiduals, type ResidualCheck } from './residualCheck.ts';
import { type TauRange, tauBounds } from './tauRange.ts';

export interface ChooseOptions {
  /** Default 3. */
  readonly maxBranches?: number;
  /**
   * Quantisation of the voltage in V: the residual variance is not taken for less than step²/12. Default 0.
   */
  readonly resolutionV?: number;
  /** Whether the slope of the OCV may be fitted. Default true. */
  readonly allowSlope?: boolean;
  /** Whether the branches may hold something of earlier currents at the first row. Default false. */
  readonly relaxing?: boolean;
}

/** Rows beyond the number of parameters that a fit needs. */
const SPARE_ROWS = 4;
/** By how much AICc must fall for a slope of the OCV to be taken. */
const SLOPE_MARGIN = 4;

/**
 * Fits 0 to `maxBranches` branches and takes the smallest AICc among those that the data identify.
 *
 * A branch is refused, with the reason, when its time constant lies below the sampling or beyond the record,
 * is uncertain by more than half of itself, when its resistance is negative or within 2.5 standard errors of
 * zero, or two time constants are closer than a factor of 2. Where neighbouring residuals are correlated,
 * AICc counts independent rows only and all standard errors are widened by the square root of the rows per
 * independent row; quantisation of the voltage adds its part (`quantisationCovariance`).
 *
 * @returns null where there are too few rows even for OCV and R0
 */
export function chooseCircuit(window: CircuitWindow, options: ChooseOptions = {}): ChosenCircuit | null {
  const { maxBranches = 3, resolutionV = 0, allowSlope = true, relaxing = false } = options;
  const contest = new Contest(window, resolutionV, relaxing);
  for (let branches = 0; branches <= maxBranches; branches++) contest.enter(branches, false);
  if (relaxing) {
    const { branches: best } = contest.largestAccepted();
    for (let branches = Math.max(best - 1, 0); branches <= Math.min(best + 1, maxBranches); branches++) {
      contest.enter(branches, true, true);
    }
  }
  if (allowSlope) {
    // A charge moved for good bends the relaxation: without the slope, a branch that is there may be refused
    // for it. Where the residuals are white already, no other number of branches can come to its help.
    const { branches: best, white } = contest.largestAccepted();
    const from = white ? best : Math.max(best - 1, 0);
    const to = white ? best : maxBranches;
    for (let branches = from; branches <= to; branches++) contest.enter(branches, true);
  }
  return contest.decide();
}

/**
 * A chosen circuit with the same branches on another window of the same rows; null where it does not settle there, or would not
 * have been chosen.
 */
export function chosenOn(
  window: CircuitWindow,
  chosen: ChosenCircuit,
  resolutionV: number,
): ChosenCircuit | null {
  const { branches, withSlope, history } = chosen.circuit;
  const starts = [tauValues(chosen.circuit)];
  const circuit = finished(window, fitCircuit(window, { branches, withSlope, history, starts, quick: true }));
  if (!circuit.converged || circuit.covariance === null) return null;
  const { residuals, factor, covariance } = measured(window, circuit, resolutionV);
  // A time constant that has moved to a bound of the search has no error of its own.
  if (refusalOf(circuit, covariance, tauBounds(window)) !== null) return null;
  return { ...chosen, circuit, residuals, standardErrorFactor: factor, covariance };
}

/** What a circuit's residuals say, the factor on its standard errors, and the covariance that follows. */
interface Measured {
  readonly residuals: ResidualCheck;
  readonly factor: number;
  readonly covariance: number[][] | null;
}

function measured(window: CircuitWindow, circuit: FittedCircuit, resolutionV: number): Measured {
  const residuals = checkResiduals(circuitResiduals(window, circuit));
  const floor = resolutionV / Math.sqrt(12) / circuit.residualSdV;
  const factor = Math.sqrt(residuals.rowsPerIndependent) * Math.max(1, Number.isFinite(floor) ? floor : 1);
  return { residuals, factor, covariance: widened(window, circuit, factor, resolutionV) };
}

function widened(
  window: CircuitWindow,
  circuit: FittedCircuit,
  factor: number,
  resolutionV: number,
): number[][] | null {
  if (circuit.covariance === null) return null;
  const quantised = quantisationCovariance(window, circuit, resolutionV);
  const drift = driftOpen(window, circuit, factor);
  return circuit.covariance.map((row, i) =>
    row.map(
      (entry, j) =>
        entry * factor * factor + (quantised?.[i][j] ?? 0) + (drift === null ? 0 : drift[i] * drift[j]),
    ),
  );
}

/** Time constants of a fitted contender; none where it was not fitted. */
function tausOf(tried: Tried | undefined): number[] {
  return tried?.circuit ? tauValues(tried.circuit) : [];
}

/** In the order of the branches, then the drift's. */
function tauValues(circuit: FittedCircuit): number[] {
  return circuit.parameters.filter((one) => one.name.startsWith('tau')).map((one) => one.value);
}

/**
 * Starts for one branch more than a contender has: a new time constant before, between and after its own.
 * None for the first branch, where a grid serves.
 */
function startsBeside(smaller: Tried | undefined, range: TauRange): number[][] | undefined {
  const taus = smaller === undefined ? [] : tausOf(smaller);
  if (taus.length === 0) return undefined;
  const kept = (tau: number): number => Math.min(Math.max(tau, 1.5 * range.minS), range.maxS / 1.5);
  const [first, last] = [taus[0], taus[taus.length - 1]];
  const starts = [
    [kept(first / 5), ...taus],
    [...taus, kept(5 * last)],
  ];
  if (taus.length === 1) starts.push([kept(first / 3), kept(3 * first)]);
  else starts.push([first, Math.sqrt(first * taus[1]), ...taus.slice(1)]);
  return starts;
}

/** A contender. */
interface Tried {
  readonly branches: number;
  readonly withSlope: boolean;
  readonly withDrift: boolean;
  readonly circuit: FittedCircuit | null;
  /** Residuals, looked at when they matter. */
  measured: Measured | null;
  refusal: CircuitRefusal | null;
}

/**
 * A contender whose residuals are this much larger than an accepted one's has lost, whatever their
 * correlation.
 */
const HOPELESS = 1.5;

/** Condition above which Gram sums leave fewer than about seven digits. */
const WELL_CONDITIONED = 3e4;

/** The contenders of one window. */
class Contest {
  private readonly tried: Tried[] = [];
  private readonly range: TauRange;
  private readonly window: CircuitWindow;
  private readonly resolutionV: number;
  private readonly relaxing: boolean;

  constructor(window: CircuitWindow, resolutionV: number, relaxing: boolean) {
    this.window = window;
    this.relaxing = relaxing;
    this.resolutionV = resolutionV;
    this.range = tauBounds(window);
  }

  /** Fits one more contender. */
  enter(branches: number, withSlope: boolean, withDrift = false): void {
    const { window, range } = this;
    const common = { branches, withSlope, withDrift, measured: null };
    const history = (this.relaxing ? branches : 0) + (withDrift ? 1 : 0);
    const parameters = 2 + (withSlope ? 1 : 0) + 2 * branches + history + (withDrift ? 1 : 0);
    if (window.scoredRows < parameters + SPARE_ROWS) {
      this.tried.push({ ...common, circuit: null, refusal: 'too-few-rows' });
      return;
    }
    const starts = withDrift ? this.startsWithDrift(branches) : this.starts(branches, withSlope);
    const circuit = fitCircuit(window, { branches, withSlope, history, starts, quick: true });
    this.tried.push({ ...common, circuit, refusal: refusalOf(circuit, circuit.covariance, range) });
  }

  private starts(branches: number, withSlope: boolean): number[][] | undefined {
    const smaller = startsBeside(this.find(branches - 1, withSlope), this.range);
    const same = withSlope ? tausOf(this.find(branches, false)) : [];
    return same.length > 0 ? [same, ...(smaller ?? [])] : smaller;
  }

  /** The branches as they are without the drift, or one of more branches turned into it. */
  private startsWithDrift(branches: number): number[][] {
    const { lengthS, maxS } = this.range;
    const without = tausOf(this.find(branches, false));
    const more = tausOf(this.find(branches + 1, false));
    const starts = [
      [...without, lengthS],
      [...without, 2 * maxS],
    ];
    if (more.length === branches + 1) starts.push(more);
    return starts.filter((start) => start.length === branches + 1);
  }

  /** The largest number of branches that is accepted so far, and whether it leaves white residuals. */
  largestAccepted(): { branches: number; white: boolean } {
    const bySize = [...this.tried].reverse().sort((a, b) => b.branches - a.branches);
    const one = bySize.find((each) => this.measure(each));
    return { branches: one?.branches ?? 0, white: one?.measured?.residuals.verdict === 'white' };
  }

  /** Takes the smallest AICc among the accepted ones. */
  decide(): ChosenCircuit | null {
    const sd = (one: Tried): number => one.circuit?.residualSdV ?? Infinity;
    const bySize = [...this.tried].sort((a, b) => sd(a) - sd(b));
    const first = bySize.find((one) => this.measure(one));
    if (first === undefined) return null;
    const accepted = bySize.filter((one) => sd(one) <= HOPELESS * sd(first) && this.measure(one));
    const independent = Math.min(...accepted.map((one) => one.measured?.residuals.rowsPerIndependent ?? 1));
    const values = new Map(
      this.tried.map((one) => [one, one.circuit && criterion(one.circuit, independent)]),
    );
    let chosen = first;
    for (const one of this.tried.filter((each) => accepted.includes(each))) {
      const margin = one.withSlope && !chosen.withSlope ? SLOPE_MARGIN : 0;
      if ((values.get(one) ?? Infinity) + margin < (values.get(chosen) ?? Infinity)) chosen = one;
    }
    return this.present(chosen, values);
  }

  private find(branches: number, withSlope: boolean, withDrift = false): Tried | undefined {
    return this.tried.find(
      (one) => one.branches === branches && one.withSlope === withSlope && one.withDrift === withDrift,
    );
  }

  /** Looks at the residuals of a contender; whether it is accepted. */
  private measure(one: Tried): boolean {
    if (one.circuit === null || one.refusal !== null) return false;
    if (one.measured === null) {
      one.measured = measured(this.window, one.circuit, this.resolutionV);
      one.refusal = refusalOf(one.circuit, one.measured.covariance, this.range);
    }
    return one.refusal === null;
  }

  private withoutSlope(one: Tried, values: ReadonlyMap<Tried, number | null>): FittedCircuit | null {
    if (!one.withSlope) return null;
    const other = this.find(one.branches, false);
    const open = (values.get(other as Tried) ?? Infinity) < (values.get(one) ?? -Infinity) + NO_SUPPORT;
    return open ? (other?.circuit ?? null) : null;
  }

  private present(one: Tried, values: ReadonlyMap<Tried, number | null>): ChosenCircuit {
    const { window, resolutionV } = this;
    const { residuals, factor, covariance } = one.measured as Measured;
    const circuit = finished(window, one.circuit as FittedCircuit);
    return {
      circuit,
      residuals,
      standardErrorFactor: factor,
      covariance: circuit === one.circuit ? covariance : widened(window, circuit, factor, resolutionV),
      edgeCovariance: null,
      aicc: values.get(one) ?? null,
      withoutSlope: this.withoutSlope(one, values),
      others: weighted(one, values),
      unseenDrift: null,
      candidates: this.tried.map((each) => ({
        branches: each.branches,
        withSlope: each.withSlope,
        withDrift: each.withDrift,
        aicc: values.get(each) ?? null,
        residualSdV: each.circuit?.residualSdV ?? null,
        chosen: each === one,
        reason: each === one ? null : (each.refusal ?? 'aicc-higher'),
      })),
    };
  }
}

/** Below this weight a circuit changes nothing. */
const LEAST_WEIGHT = 1e-4;

/** All fitted contenders but one, with their Akaike weights. */
function weighted(one: Tried, values: ReadonlyMap<Tried, number | null>): ChosenCircuit['others'] {
  const fitted = [...values].flatMap(([{ circuit }, value]) =>
    circuit?.converged && value !== null ? [{ circuit, value }] : [],
  );
  const least = Math.min(...fitted.map(({ value }) => value));
  const support = (value: number): number => Math.exp((least - value) / 2);
  const all = fitted.reduce((sum, { value }) => sum + support(value), 0);
  return fitted
    .filter(({ circuit }) => circuit !== one.circuit)
    .map(({ circuit, value }) => ({ circuit, weight: support(value) / all }))
    .filter(({ weight }) => weight > LEAST_WEIGHT);
}

/** Finishes a circuit that Gram sums leave too few digits on the full columns. */
function finished(window: CircuitWindow, circuit: FittedCircuit): FittedCircuit {
  if (circuit.condition === null || circuit.condition < WELL_CONDITIONED) return circuit;
  const { branches, withSlope, history } = circuit;
  const again = fitCircuit(window, { branches, withSlope, history, starts: [tauValues(circuit)] });
  return again.converged && again.covariance !== null ? again : circuit;
}

/** AICc with the rows counted that are independent. */
function criterion(circuit: FittedCircuit, rowsPerIndependent: number): number | null {
  return aicc({
    residualSumOfSquares: circuit.residualSumOfSquares / rowsPerIndependent,
    points: circuit.rows / rowsPerIndependent,
    freeParameters: circuit.parameters.length,
  }).value;
}
