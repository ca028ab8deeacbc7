import { estimateOf, fitLine } from '../least-squares/index.ts';
import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../numeric/index.ts';

/** A resistance at a temperature. */
export interface ResistanceAtTemperature {
  readonly temperatureC: number;
  readonly valueOhm: number;
  readonly standardUncertaintyOhm?: number;
}

/** R(T) = R_ref · exp[(Ea/R_gas)(1/T − 1/T_ref)], fitted on ln R. */
export interface TemperatureFit {
  readonly referenceC: number;
  readonly referenceOhm: number;
  readonly referenceStandardErrorOhm: number | null;
  readonly activationJPerMol: number;
  readonly activationStandardErrorJPerMol: number | null;
  /** Covariance of ln R_ref and Ea/R_gas; null with the standard errors. */
  readonly covariance: readonly (readonly number[])[] | null;
  readonly lowestC: number;
  readonly highestC: number;
  readonly points: number;
  /** Largest |measured/fitted − 1|. */
  readonly largestDeviation: number;
  /**
   * False where resistance does not fall all the way with temperature: the law then describes the data badly.
   */
  readonly fallsThroughout: boolean;
  /** ln(measured/fitted) of each point, in the order given. */
  readonly residuals: readonly number[];
  /**
   * Standard deviation of ln R of one reading of a further cell about the law: the scatter of the readings and of the cells' levels.
   * Null where there are no more readings than parameters.
   */
  readonly readingDeviation: number | null;
  readonly degreesOfFreedom: number;
}

/** 1/T in 1/K of a temperature in °C. */
export function inverseKelvin(celsius: number): number {
  return 1 / (celsius + ZERO_CELSIUS_K);
}

/** Factor by which a resistance changes between two temperatures with an activation energy. */
export function temperatureFactor(activationJPerMol: number, fromC: number, toC: number): number {
  return Math.exp((activationJPerMol / GAS_CONSTANT) * (inverseKelvin(toC) - inverseKelvin(fromC)));
}

/**
 * Fits the Arrhenius law to resistances at several temperatures. Nothing is made monotonic: where the data
 * rise with temperature the fit says so. With uncertainties for all points the fit is weighted; scatter
 * beyond them widens the errors.
 *
 * @returns null for fewer than two different temperatures
 * @throws RangeError for a resistance that is not positive or a temperature below absolute zero
 */
export function fitTemperature(
  points: readonly ResistanceAtTemperature[],
  referenceC = 25,
): TemperatureFit | null {
  for (const { valueOhm, temperatureC } of points) {
    if (!(valueOhm > 0)) throw new RangeError(`A resistance is ${valueOhm} Ohm; it must be above 0`);
    if (!(temperatureC > -ZERO_CELSIUS_K)) throw new RangeError(`A temperature is ${temperatureC} °C`);
  }
  const temperatures = points.map((point) => point.temperatureC);
  if (new Set(temperatures).size < 2) return null;
  const x = Float64Array.from(temperatures, (celsius) => inverseKelvin(celsius) - inverseKelvin(referenceC));
  const y = Float64Array.from(points, (point) => Math.log(point.valueOhm));
  const relative = points.map((point) => (point.standardUncertaintyOhm ?? 0) / point.valueOhm);
  const weighted = relative.every((value) => value > 0);
  const fit = fitLine(x, y, weighted ? { weights: Float64Array.from(relative, (u) => 1 / (u * u)) } : {});
  const intercept = estimateOf(fit, 'intercept');
  const slope = estimateOf(fit, 'slope');
  const referenceOhm = Math.exp(intercept.value);
  const residuals = points.map((_, i) => y[i] - intercept.value - slope.value * x[i]);
  const ordered = [...points].sort((a, b) => a.temperatureC - b.temperatureC);
  return {
    referenceC,
    referenceOhm,
    referenceStandardErrorOhm:
      intercept.standardError === null ? null : referenceOhm * intercept.standardError,
    activationJPerMol: slope.value * GAS_CONSTANT,
    activationStandardErrorJPerMol: slope.standardError === null ? null : slope.standardError * GAS_CONSTANT,
    covariance: fit.covariance,
    lowestC: Math.min(...temperatures),
    highestC: Math.max(...temperatures),
    points: points.length,
    largestDeviation: Math.max(...residuals.map((r) => Math.abs(Math.exp(r) - 1))),
    fallsThroughout: ordered.every((point, i) => i === 0 || point.valueOhm <= ordered[i - 1].valueOhm),
    residuals,
    readingDeviation: deviationOf(residuals, points.length - 2),
    degreesOfFreedom: points.length - 2,
  };
}

function deviationOf(residuals: readonly number[], degrees: number): number | null {
  if (degrees < 1) return null;
  return Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / degrees);
}

/** A resistance carried to another temperature. */
export interface ReducedResistance {
  readonly valueOhm: number;
  readonly standardUncertaintyOhm: number;
  /** True where either temperature lies outside those measured by more than half a degree. */
  readonly extrapolated: boolean;
}

/**
 * Carries a resistance from the temperature it was measured at to another with the activation energy of a
 * fit; the energy's uncertainty and the temperature's own enter the result.
 */
export function reduceResistance(
  fit: Pick<TemperatureFit, 'activationJPerMol' | 'activationStandardErrorJPerMol' | 'lowestC' | 'highestC'>,
  measured: ResistanceAtTemperature,
  toC: number,
  temperatureUncertaintyC = 0,
): ReducedResistance {
  const factor = temperatureFactor(fit.activationJPerMol, measured.temperatureC, toC);
  const kelvin = measured.temperatureC + ZERO_CELSIUS_K;
  const span = 1 / (toC + ZERO_CELSIUS_K) - 1 / kelvin;
  const perKelvin = fit.activationJPerMol / GAS_CONSTANT / (kelvin * kelvin);
  const valueOhm = measured.valueOhm * factor;
  const outside = (celsius: number): boolean => celsius < fit.lowestC - 0.5 || celsius > fit.highestC + 0.5;
  return {
    valueOhm,
    standardUncertaintyOhm: Math.hypot(
      (measured.standardUncertaintyOhm ?? 0) * factor,
      (valueOhm * (fit.activationStandardErrorJPerMol ?? 0) * span) / GAS_CONSTANT,
      valueOhm * perKelvin * temperatureUncertaintyC,
    ),
    extrapolated: outside(measured.temperatureC) || outside(toC),
  };
}
