import type { FitResult } from '../least-squares/index.ts';
import { fitLinear } from '../least-squares/index.ts';
import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../numeric/index.ts';
import { tQuantile } from '../statistics/index.ts';

/** One cell's life and its stress, one value a term. */
export interface StressedCell {
  readonly cell: string;
  /** Life to one limit, above 0, in the unit of the series (cycles …). */
  readonly life: number;
  readonly terms: readonly number[];
}

/** One term of the regression. `coefficient` is the change of ln life per unit of the term. */
export interface StressTerm {
  readonly name: string;
  readonly coefficient: number | null;
  readonly standardError: number | null;
  /** Range of the data: outside it the regression says nothing. */
  readonly validFrom: number;
  readonly validTo: number;
}

/** ln life as a linear function of the terms, checked by leaving each cell out. */
export interface StressRegression {
  readonly terms: readonly StressTerm[];
  readonly intercept: number | null;
  readonly residualSd: number | null;
  /** ln life of each cell predicted from all the others; null where that fit was singular. */
  readonly leftOut: readonly (number | null)[];
  /** 1 − Σ(left-out error)² / Σ(ln life − mean)²; can be negative. */
  readonly explainedVarianceLeftOut: number | null;
  readonly reason: 'too-few-cells' | 'no-variation' | null;
  readonly fit: FitResult | null;
}

/**
 * Regresses ln life on stress terms over the cells of one type. For the temperature use the term 1/(R T) in mol/J
 * (`arrheniusTerm`): its coefficient is then the activation energy in J/mol. Rates, depths and means enter as they are.
 *
 * @param names of the terms, as many as each cell has
 * @returns a result with a reason where there are fewer than (terms + 3) cells or a term does not vary
 * @throws RangeError naming the cell for lives that are not positive, or terms of the wrong number
 */
export function stressRegression(cells: readonly StressedCell[], names: readonly string[]): StressRegression {
  for (const { cell, life, terms } of cells) {
    if (!(life > 0)) throw new RangeError(`life of cell ${cell} must be positive, got ${life}`);
    if (terms.length !== names.length || !terms.every(Number.isFinite)) {
      throw new RangeError(
        `cell ${cell} needs ${names.length} finite terms (${names.join(', ')}), got ${terms.join(', ')}`,
      );
    }
  }
  const column = (j: number): number[] => cells.map((cell) => cell.terms[j]);
  const range = names.map((_, j) => ({ from: Math.min(...column(j)), to: Math.max(...column(j)) }));
  const empty = {
    terms: names.map((name, j) => ({
      name,
      coefficient: null,
      standardError: null,
      validFrom: range[j].from,
      validTo: range[j].to,
    })),
    intercept: null,
    residualSd: null,
    leftOut: cells.map(() => null),
    explainedVarianceLeftOut: null,
    fit: null,
  };
  if (cells.length < names.length + 3) return { ...empty, reason: 'too-few-cells' };
  if (range.some(({ from, to }) => !(to > from))) return { ...empty, reason: 'no-variation' };
  const logLife = cells.map((cell) => Math.log(cell.life));
  const fit = regress(cells, logLife);
  const leftOut = cells.map((cell, i) => {
    const others = cells.filter((_, k) => k !== i);
    const without = regress(
      others,
      logLife.filter((_, k) => k !== i),
    );
    return without.rank <= names.length ? null : predict(without, cell.terms);
  });
  return {
    terms: names.map((name, j) => ({
      name,
      coefficient: fit.parameters[j + 1].value,
      standardError: fit.parameters[j + 1].standardError,
      validFrom: range[j].from,
      validTo: range[j].to,
    })),
    intercept: fit.parameters[0].value,
    residualSd: fit.residualSd,
    leftOut,
    explainedVarianceLeftOut: explained(logLife, leftOut),
    reason: null,
    fit,
  };
}

function regress(cells: readonly StressedCell[], logLife: readonly number[]): FitResult {
  const terms = cells[0].terms.map((_, j) => Float64Array.from(cells, (cell) => cell.terms[j]));
  const columns = [new Float64Array(cells.length).fill(1), ...terms];
  return fitLinear({ columns, y: Float64Array.from(logLife) });
}

function predict(fit: FitResult, terms: readonly number[]): number {
  return terms.reduce((sum, term, j) => sum + fit.parameters[j + 1].value * term, fit.parameters[0].value);
}

function explained(logLife: readonly number[], leftOut: readonly (number | null)[]): number | null {
  const mean = logLife.reduce((sum, value) => sum + value, 0) / logLife.length;
  let errors = 0;
  let spread = 0;
  for (let i = 0; i < logLife.length; i++) {
    const predicted = leftOut[i];
    if (predicted === null) return null;
    errors += (logLife[i] - predicted) ** 2;
    spread += (logLife[i] - mean) ** 2;
  }
  return spread > 0 ? 1 - errors / spread : null;
}

/** What going from one stress to another does to life: the factor, with its interval. */
export interface LifeFactor {
  readonly factor: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly level: number;
  readonly reason: 'outside-range' | 'no-regression' | null;
}

/**
 * life(to) / life(from) of an average cell: what, for example, charging at another rate costs. The interval is that of
 * the mean effect (delta method on the coefficients), not of a single cell.
 *
 * @param from and `to`: one value a term
 * @param level default 0.95
 * @returns no number but `outside-range` where either stress lies outside the range of the data
 */
export function lifeFactor(
  regression: StressRegression,
  from: readonly number[],
  to: readonly number[],
  level = 0.95,
): LifeFactor {
  const none = { factor: null, low: null, high: null, level };
  const { fit, terms } = regression;
  if (fit === null || fit.covariance === null) return { ...none, reason: 'no-regression' };
  const outside = terms.some((term, j) =>
    [from[j], to[j]].some((value) => !(value >= term.validFrom && value <= term.validTo)),
  );
  if (outside) return { ...none, reason: 'outside-range' };
  const change = terms.map((_, j) => to[j] - from[j]);
  const effect = change.reduce((sum, d, j) => sum + d * fit.parameters[j + 1].value, 0);
  let variance = 0;
  for (let j = 0; j < change.length; j++) {
    for (let k = 0; k < change.length; k++) variance += change[j] * change[k] * fit.covariance[j + 1][k + 1];
  }
  const reach = tQuantile(0.5 + level / 2, fit.degreesOfFreedom) * Math.sqrt(variance);
  const [factor, low, high] = [effect, effect - reach, effect + reach].map(Math.exp);
  return { factor, low, high, level, reason: null };
}

/** 1/(R T) in mol/J: the coefficient of ln life on it is an activation energy in J/mol. */
export function arrheniusTerm(temperatureC: number): number {
  const kelvin = temperatureC + ZERO_CELSIUS_K;
  if (!(kelvin > 0)) throw new RangeError(`temperatureC must lie above -273.15, got ${temperatureC}`);
  return 1 / (GAS_CONSTANT * kelvin);
}

/** One stage of a charge: this rate up to that state of charge. */
export interface ChargeStage {
  readonly rateC: number;
  readonly untilSoc: number;
}

/**
 * Power mean of the charge rate over the charge put in, (Σ rateᵖ ΔSOC / Σ ΔSOC)^(1/p), in C. With p above 1 it weighs the
 * fast stages more than a mean does; 3 is the default.
 *
 * @param stages in order, `untilSoc` rising
 * @param startSoc default 0
 */
export function powerMeanRateC(stages: readonly ChargeStage[], power = 3, startSoc = 0): number {
  let from = startSoc;
  let sum = 0;
  for (const { rateC, untilSoc } of stages) {
    if (!(untilSoc >= from))
      throw new RangeError(`untilSoc must rise from stage to stage, got ${untilSoc} after ${from}`);
    if (!(rateC > 0)) throw new RangeError(`rateC must be positive, got ${rateC}`);
    sum += rateC ** power * (untilSoc - from);
    from = untilSoc;
  }
  if (!(from > startSoc)) throw new RangeError('stages must cover some state of charge');
  return (sum / (from - startSoc)) ** (1 / power);
}
