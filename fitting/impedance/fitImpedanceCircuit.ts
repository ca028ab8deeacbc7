import type { FitResult, Termination, UncertaintyReason } from '../least-squares/index.ts';
import { createSeparableSolver, type SeparableSolver } from '../least-squares/index.ts';
import type { ImpedanceCircuit } from './impedanceCircuit.ts';
import { impedanceColumns } from './impedanceColumns.ts';
import { checkSpectrum, type Spectrum } from './spectrum.ts';

/** Why a parameter has no standard error: the fit does not give one, or it would not hold for the cell (see `circuitUncertainty`). */
export type ImpedanceParameterReason =
  | UncertaintyReason
  | 'residuals-correlated'
  | 'other-circuits-fit'
  | 'spectrum-inconsistent';

/** One parameter of a fitted circuit. */
export interface ImpedanceParameter {
  /** `seriesInductanceH, seriesResistanceOhm, [diffusionCoefficient], arc1ResistanceOhm, arc1TimeConstantS, arc1Exponent …` */
  readonly name: string;
  /** H, Ω, Ω·s^(−1/2), Ω, s, 1. */
  readonly value: number;
  readonly standardError: number | null;
  readonly reason: ImpedanceParameterReason | null;
}

/** A fitted circuit, arcs in the order of their time constants. */
export interface FittedImpedance {
  readonly arcs: number;
  readonly withTail: boolean;
  readonly circuit: ImpedanceCircuit;
  readonly parameters: readonly ImpedanceParameter[];
  /** In the order of `parameters`, from the full Jacobian; null where a parameter is not identifiable. */
  readonly covariance: readonly (readonly number[])[] | null;
  /** Σ |Z − model|²/|Z|² over the points, and √ of it over the degrees of freedom: a fraction of |Z|. */
  readonly residualSumOfSquares: number;
  readonly residualSd: number | null;
  /** Two for each frequency: real and imaginary part. */
  readonly points: number;
  readonly freeParameters: number;
  readonly termination: Termination;
  readonly converged: boolean;
}

/** What is fitted. */
export interface ImpedanceFitOptions {
  /** Number of arcs, 0 to 2. */
  readonly arcs: number;
  /** Whether a diffusion tail is part of the circuit. Default false. */
  readonly withTail?: boolean;
}

/** Exponents a constant-phase element may take: below, an arc is too flat to be distinguished from its neighbours. */
const EXPONENT_MIN = 0.4;
/** How far beyond 1/ω of the first and last frequency a time constant may lie, as a factor. */
const BEYOND = 100;
/** Time constants of the grid of starts. */
const GRID = 6;

const solvers = new Map<string, SeparableSolver>();

/**
 * Complex nonlinear least squares of L + R0 + arcs [+ diffusion tail]: Σ |Z − model|²/|Z|² over all points, real and
 * imaginary part together, each weighted by 1/|Z|² (modulus weighting, B. A. Boukamp, Solid State Ionics 20 (1986) 31;
 * J. R. Macdonald, ed., Impedance Spectroscopy, 1987). Inductance, resistances and diffusion enter linearly and are
 * solved for exactly, inductance and series resistance not below 0; the iteration runs on ln τ and exponents of the arcs alone, from a grid of starts. Standard
 * errors take the scatter as a fraction of |Z|, alike at all frequencies, from the residuals.
 *
 * @throws RangeError for a spectrum that cannot be (see `checkSpectrum`), fewer points than parameters, or a number of
 * arcs outside 0…2
 */
export function fitImpedanceCircuit(spectrum: Spectrum, options: ImpedanceFitOptions): FittedImpedance {
  const { arcs, withTail = false } = options;
  if (!Number.isInteger(arcs) || arcs < 0 || arcs > 2) throw new RangeError(`arcs is ${arcs}; it is 0 to 2`);
  checkSpectrum(spectrum);
  const parameters = 2 + (withTail ? 1 : 0) + 3 * arcs;
  if (2 * spectrum.frequencyHz.length <= parameters) {
    throw new RangeError(
      `${spectrum.frequencyHz.length} points are too few for the ${parameters} parameters of ${arcs} arcs`,
    );
  }
  const { model, scale } = impedanceColumns(spectrum, arcs, withTail);
  const range = timeConstantRange(spectrum);
  const result = solverFor(arcs, withTail).solve(model, starts(arcs, range), bounds(arcs, range));
  return present(result, arcs, withTail, scale);
}

/** Natural logarithms of the shortest and longest time constant whose apex the frequencies show. */
export function timeConstantRange(spectrum: Spectrum): { readonly low: number; readonly high: number } {
  const log = spectrum.frequencyHz.map((f) => -Math.log(2 * Math.PI * f));
  return { low: Math.min(...log), high: Math.max(...log) };
}

function solverFor(arcs: number, withTail: boolean): SeparableSolver {
  const key = `${arcs}${withTail}`;
  const known = solvers.get(key);
  if (known !== undefined) return known;
  const numbers = Array.from({ length: arcs }, (_, i) => i + 1);
  const firstArc = withTail ? 3 : 2;
  const solver = createSeparableSolver(
    {
      linear: [
        { name: 'inductance', unit: 'Ohm', min: 0 },
        { name: 'resistance', unit: 'Ohm', min: 0 },
        ...(withTail ? [{ name: 'diffusion', unit: 'Ohm' }] : []),
        ...numbers.map((i) => ({ name: `arc${i}`, unit: 'Ohm' })),
      ],
      nonlinear: numbers.flatMap((i) => [
        { name: `logTau${i}`, unit: '1', start: i, maxStep: 1.5 },
        { name: `exponent${i}`, unit: '1', start: 0.8, maxStep: 0.2 },
      ]),
      derivatives: numbers.flatMap((i) => [
        { basis: firstArc + i - 1, nonlinear: 2 * i - 2 },
        { basis: firstArc + i - 1, nonlinear: 2 * i - 1 },
      ]),
    },
    { polish: 'always', maxIterations: 100 },
  );
  solvers.set(key, solver);
  return solver;
}

function bounds(arcs: number, { low, high }: { low: number; high: number }) {
  const each = (values: readonly [number, number]): number[] =>
    Array.from({ length: arcs }, () => values).flat();
  return {
    min: each([low - Math.log(BEYOND), EXPONENT_MIN]),
    max: each([high + Math.log(BEYOND), 1]),
  };
}

/** A grid of time constants over the measured range, in pairs for two arcs, each with a usual exponent. */
function starts(arcs: number, { low, high }: { low: number; high: number }): number[][] {
  if (arcs === 0) return [[]];
  const grid = Array.from({ length: GRID }, (_, i) => low + ((i + 0.5) / GRID) * (high - low));
  if (arcs === 1) return grid.map((logTau) => [logTau, 0.8]);
  return grid.flatMap((first, i) => grid.slice(i + 1).map((second) => [first, 0.8, second, 0.8]));
}

/** Where a parameter stands in the solver's result, and what carries it over to SI. */
interface Place {
  readonly name: string;
  readonly at: number;
  /** For a time constant ∂τ/∂ln τ, which is τ itself. */
  readonly factor: number;
}

/** The parameters in their own order, the arcs by their time constants. */
function placesOf(
  parameters: FitResult['parameters'],
  arcs: number,
  withTail: boolean,
  scale: { readonly inductance: number; readonly diffusion: number },
): Place[] {
  const linear = withTail ? 3 : 2;
  const tauAt = (arc: number): number => linear + arcs + 2 * arc;
  const order = Array.from({ length: arcs }, (_, arc) => arc).sort(
    (a, b) => parameters[tauAt(a)].value - parameters[tauAt(b)].value,
  );
  return [
    { name: 'seriesInductanceH', at: 0, factor: scale.inductance },
    { name: 'seriesResistanceOhm', at: 1, factor: 1 },
    ...(withTail ? [{ name: 'diffusionCoefficient', at: 2, factor: scale.diffusion }] : []),
    ...order.flatMap((arc, i) => [
      { name: `arc${i + 1}ResistanceOhm`, at: linear + arc, factor: 1 },
      { name: `arc${i + 1}TimeConstantS`, at: tauAt(arc), factor: Math.exp(parameters[tauAt(arc)].value) },
      { name: `arc${i + 1}Exponent`, at: tauAt(arc) + 1, factor: 1 },
    ]),
  ];
}

/** Carries values and covariance from the scaled columns and ln τ over to SI. */
function present(
  result: FitResult,
  arcs: number,
  withTail: boolean,
  scale: { readonly inductance: number; readonly diffusion: number },
): FittedImpedance {
  const { parameters, covariance } = result;
  const places = placesOf(parameters, arcs, withTail, scale);
  const values = places.map(({ name, at, factor }): ImpedanceParameter => {
    const { value, standardError, reason } = parameters[at];
    return {
      name,
      value: name.endsWith('TimeConstantS') ? factor : value * factor,
      standardError: standardError === null ? null : standardError * factor,
      reason,
    };
  });
  return {
    arcs,
    withTail,
    circuit: circuitOf(values, arcs, withTail),
    parameters: values,
    covariance:
      covariance === null
        ? null
        : places.map((a) => places.map((b) => covariance[a.at][b.at] * a.factor * b.factor)),
    residualSumOfSquares: result.residualSumOfSquares ?? Number.NaN,
    residualSd: result.residualSd,
    points: result.points,
    freeParameters: result.freeParameters,
    termination: result.termination,
    converged: result.converged,
  };
}

function circuitOf(values: readonly ImpedanceParameter[], arcs: number, withTail: boolean): ImpedanceCircuit {
  const value = (name: string): number => values.find((one) => one.name === name)?.value ?? Number.NaN;
  return {
    seriesInductanceH: value('seriesInductanceH'),
    seriesResistanceOhm: value('seriesResistanceOhm'),
    arcs: Array.from({ length: arcs }, (_, i) => ({
      resistanceOhm: value(`arc${i + 1}ResistanceOhm`),
      timeConstantS: value(`arc${i + 1}TimeConstantS`),
      exponent: value(`arc${i + 1}Exponent`),
    })),
    diffusionCoefficient: withTail ? value('diffusionCoefficient') : null,
  };
}
