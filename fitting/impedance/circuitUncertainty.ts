import { curvatureFromQr, factorQr } from '../numeric/index.ts';
import { fQuantile } from '../statistics/index.ts';
import type { FittedImpedance, ImpedanceParameter } from './fitImpedanceCircuit.ts';
import { circuitImpedance, type ImpedanceCircuit } from './impedanceCircuit.ts';
import { magnitudes, type Spectrum } from './spectrum.ts';

/** A circuit that describes the spectrum, and the belief in it: Akaike weights over all that were fitted. */
export interface WeighedCircuit {
  readonly fit: FittedImpedance;
  readonly weight: number;
  /** The same with a tail as likely as none. */
  readonly spreadWeight: number;
  /**
   * - `identified`: it could have been taken.
   * - `apex-outside`: the sweep ends before the apex of one of its arcs; it may be what the cell has.
   * - `describing`: it follows the spectrum, with parts that the spectrum does not show.
   */
  readonly as: 'identified' | 'apex-outside' | 'describing';
}

/** What a spectrum leaves beside the circuit: residuals as fractions of |Z|, real and imaginary part of each frequency. */
export interface Scatter {
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
}

/** Neighbouring frequencies whose residuals may go together (Bartlett's weights up to here). */
const LAGS = 3;
/** A circuit misses the spectrum where noise alone would look like it in one case of a hundred. */
const SELDOM = 0.99;
const SELDOM_NORMAL = 2.326;
/** Belief in circuits with other arcs, or without the tail, from which on the values of arcs and tail are open. */
const OPEN = 0.05;
/**
 * The same for circuits with fewer arcs: a further arc is the best of all time constants, and noise offers many. And for
 * those with an arc that the sweep does not reach: that they have more parameters is no evidence against them.
 */
const HARDLY_OPEN = 0.005;

/**
 * Standard errors of a circuit's parameters that hold where the scatter is not alike at all frequencies, goes together
 * at neighbouring ones, or where other circuits fit about as well:
 *
 * - each is at least the one of the sandwich with Bartlett's weights over {@link LAGS} neighbours (W. K. Newey and
 *   K. D. West, Econometrica 55 (1987) 703), residuals divided by 1 − leverage as in HC3 (J. G. MacKinnon and H. White,
 *   J. Econometrics 29 (1985) 305);
 * - what the other circuits say of the same parameter is added by their Akaike weights (Burnham and Anderson 2002, 4.3);
 *   the arcs have none (`other-circuits-fit`) where circuits with more arcs that could have been taken have a weight above
 *   5 %, or those with fewer arcs or an apex beyond the sweep above 0.5 %; the tail has none beside circuits without it above
 *   5 %, or an apex beyond the sweep above 0.5 %;
 * - none is given (`residuals-correlated`) where the circuit leaves more than the spectrum's own scatter, a refused
 *   circuit fits far better, or residuals that follow each other: what stands then describes the spectrum, not the cell.
 *
 * None is given (`spectrum-inconsistent`) either where the cell or the set-up changed during the sweep.
 *
 * @param bettered whether a circuit that cannot be taken leaves so much less that this one does not explain the spectrum
 * @param scatter what a chain that obeys Kramers–Kronig leaves of the same points; null where it says nothing
 */
export function circuitUncertainty(
  spectrum: Spectrum,
  fit: FittedImpedance,
  all: readonly WeighedCircuit[],
  bettered: boolean,
  scatter: Scatter | 'inconsistent' | null,
): readonly ImpedanceParameter[] {
  if (scatter === 'inconsistent') return fit.parameters.map((one) => without(one, 'spectrum-inconsistent'));
  const { real, imaginary } = residualsOf(spectrum, fit.circuit);
  if (bettered || !explains(fit, real, imaginary, scatter))
    return fit.parameters.map((one) => without(one, 'residuals-correlated'));
  const errors = sandwichErrors(spectrum, fit, real, imaginary);
  const { arcs, tail } = whatIsOpen(fit, all);
  return fit.parameters.map((one, k) => {
    if (one.standardError === null) return one;
    if (one.name.startsWith('arc') ? arcs : one.name === 'diffusionCoefficient' && tail)
      return without(one, 'other-circuits-fit');
    return {
      ...one,
      standardError: unconditional(one, Math.max(one.standardError, errors[k]), fit, all, arcs),
    };
  });
}

/** Whether other circuits leave the values of the arcs, and of the tail, open. */
function whatIsOpen(
  fit: FittedImpedance,
  all: readonly WeighedCircuit[],
): { readonly arcs: boolean; readonly tail: boolean } {
  const weightOf = (counts: (other: WeighedCircuit) => boolean): number =>
    all.reduce((sum, other) => sum + (counts(other) ? other.weight : 0), 0);
  const outside = weightOf((other) => other.as === 'apex-outside');
  const identified = (counts: (other: FittedImpedance) => boolean): number =>
    weightOf((other) => other.as === 'identified' && counts(other.fit));
  return {
    arcs:
      identified((other) => other.arcs > fit.arcs) > OPEN ||
      outside + identified((other) => other.arcs < fit.arcs) > HARDLY_OPEN,
    tail: outside > HARDLY_OPEN || identified((other) => other.withTail !== fit.withTail) > OPEN,
  };
}

/**
 * The standard error over all circuits: the root of Σ weight·(their variance + their distance²), at least the circuit's
 * own. Where the arcs are open no circuit is preferred for being smaller: the largest of the terms counts.
 */
function unconditional(
  one: ImpedanceParameter,
  own: number,
  fit: FittedImpedance,
  all: readonly WeighedCircuit[],
  arcsAreOpen: boolean,
): number {
  let [mean, largest] = [0, own ** 2];
  for (const { fit: other, weight, spreadWeight } of all) {
    const said = other.parameters.find(({ name }) => name === one.name);
    const isSame = said !== undefined && (other.arcs === fit.arcs || !one.name.startsWith('arc'));
    const variance =
      isSame && other !== fit ? (said.standardError ?? 0) ** 2 + (said.value - one.value) ** 2 : own ** 2;
    mean += spreadWeight * variance;
    if (weight > HARDLY_OPEN) largest = Math.max(largest, variance);
  }
  return Math.sqrt(arcsAreOpen ? largest : Math.max(own ** 2, mean));
}

function without(
  one: ImpedanceParameter,
  reason: NonNullable<ImpedanceParameter['reason']>,
): ImpedanceParameter {
  return one.standardError === null ? one : { ...one, standardError: null, reason };
}

/** Residuals as fractions of |Z|. */
function residualsOf(
  spectrum: Spectrum,
  circuit: ImpedanceCircuit,
): { readonly real: Float64Array; readonly imaginary: Float64Array } {
  const model = circuitImpedance(circuit, spectrum.frequencyHz);
  const size = magnitudes(spectrum);
  return {
    real: spectrum.realOhm.map((value, i) => (value - model.realOhm[i]) / size[i]),
    imaginary: spectrum.imaginaryOhm.map((value, i) => (value - model.imaginaryOhm[i]) / size[i]),
  };
}

function explains(
  fit: FittedImpedance,
  real: Float64Array,
  imaginary: Float64Array,
  scatter: Scatter | null,
): boolean {
  const left = fit.points - fit.freeParameters;
  if (left < 1 || fit.residualSumOfSquares === 0) return true;
  if (scatter !== null && scatter.degreesOfFreedom >= 1 && scatter.sumOfSquares > 0) {
    const ratio = fit.residualSumOfSquares / left / (scatter.sumOfSquares / scatter.degreesOfFreedom);
    if (ratio > fQuantile(SELDOM, left, scatter.degreesOfFreedom)) return false;
  }
  let [together, squares] = [0, 0];
  for (const part of [real, imaginary]) {
    for (let i = 0; i < part.length; i++) {
      squares += part[i] ** 2;
      if (i > 0) together += part[i] * part[i - 1];
    }
  }
  // The correlation of neighbours among white residuals, with the bias that the fitted parameters give it.
  const pairs = 2 * (real.length - 1);
  return together / squares + fit.freeParameters / fit.points < SELDOM_NORMAL / Math.sqrt(pairs);
}

/**
 * The larger of plain and sandwich standard error, parameter by parameter; 0 where there is none. An exponent that
 * stands at its bound is one of the free ones: a value that holds only at the bound would look too certain.
 */
function sandwichErrors(
  spectrum: Spectrum,
  fit: FittedImpedance,
  real: Float64Array,
  imaginary: Float64Array,
): readonly number[] {
  const free = fit.parameters.flatMap(({ name, standardError }, k) =>
    standardError === null && !name.endsWith('Exponent') ? [] : [k],
  );
  const columns = free.map((k) => derivative(spectrum, fit, k));
  const { inverse, rank } = curvatureFromQr(factorQr(columns.map((column) => Float64Array.from(column))));
  const count = real.length;
  const degrees = fit.points - fit.freeParameters;
  if (rank < free.length || degrees < 1) return fit.parameters.map(() => 0);
  const variance = fit.residualSumOfSquares / degrees;
  const errors = fit.parameters.map(() => 0);
  const rows = Array.from({ length: 2 * count }, (_, i) =>
    free.map((_k, a) => free.reduce((sum, _b, b) => sum + inverse[a * free.length + b] * columns[b][i], 0)),
  );
  const residual = (i: number): number => {
    const leverage = rows[i].reduce((sum, value, a) => sum + value * columns[a][i], 0);
    const own = i < count ? real[i] : imaginary[i - count];
    return own / Math.max(1 - leverage, 0.1);
  };
  const corrected = Array.from({ length: 2 * count }, (_, i) => residual(i));
  free.forEach((k, a) => {
    const parts = [0, count].map((from) =>
      Array.from({ length: count }, (_, i) => rows[from + i][a] * corrected[from + i]),
    );
    let sum = 0;
    for (let lag = 0; lag <= LAGS; lag++) {
      const weight = (lag === 0 ? 1 : 2) * (1 - lag / (LAGS + 1));
      for (const part of parts) for (let i = lag; i < count; i++) sum += weight * part[i] * part[i - lag];
    }
    let alone = 0;
    for (const part of parts) for (const value of part) alone += value * value;
    const plain = variance * inverse[a * free.length + a];
    errors[k] = Math.sqrt(Math.max(plain, sum, alone));
  });
  return errors;
}

/** ∂Z/∂parameter over |Z|, real parts first, by central differences. */
function derivative(spectrum: Spectrum, fit: FittedImpedance, k: number): Float64Array {
  const { name, value, standardError } = fit.parameters[k];
  const step = Math.max(Math.abs(value) * 1e-5, (standardError ?? 0) * 1e-3);
  const [up, down] = [value + step, value - step].map((moved) =>
    circuitImpedance(moveCircuit(fit.circuit, name, moved), spectrum.frequencyHz),
  );
  const size = magnitudes(spectrum);
  const count = size.length;
  const column = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    column[i] = (up.realOhm[i] - down.realOhm[i]) / (2 * step * size[i]);
    column[count + i] = (up.imaginaryOhm[i] - down.imaginaryOhm[i]) / (2 * step * size[i]);
  }
  return column;
}

function moveCircuit(circuit: ImpedanceCircuit, name: string, value: number): ImpedanceCircuit {
  const arc = /^arc(\d)(.*)$/.exec(name);
  if (arc === null) return { ...circuit, [name]: value };
  const at = Number(arc[1]) - 1;
  const field = `${arc[2][0].toLowerCase()}${arc[2].slice(1)}`;
  return { ...circuit, arcs: circuit.arcs.map((one, i) => (i === at ? { ...one, [field]: value } : one)) };
}
