import { GAS_CONSTANT, ZERO_CELSIUS_K } from '../numeric/index.ts';
import { inverseKelvin, type TemperatureFit } from './temperatureDependence.ts';
import type { CellResistanceAtTemperature } from './temperatureOfCells.ts';

/** A law whose errors allow for what all readings at one temperature have in common. */
export interface AllowedTemperatureFit extends TemperatureFit {
  /** Standard uncertainty of a temperature that its readings share, in °C; null where the law has no errors. */
  readonly temperatureErrorC: number | null;
}

/** A chamber against the cells in it, where nothing is known of it, in °C. Common practice, no source. */
const USUAL_C = 0.7;
/** How many temperatures' worth of evidence the usual value counts for. No source. */
const USUAL_COUNTS = 8;
/** Readings nearer to each other than this were taken at one setting of the chamber, in °C. */
const ONE_SETTING_C = 2.5;

/**
 * Allows for errors that all cells have in common at a temperature: of the chamber, and of a law that is not quite the cells'. Many
 * cells at few temperatures average their own scatter away, but not these. How large they are is estimated from how far the means
 * of the temperatures lie off the law beyond the cells' scatter, beside a usual value (variance components by the method of moments,
 * with a scaled inverse χ² prior; A. Gelman et al., Bayesian Data Analysis; from memory). The degrees of freedom are those of the
 * slope by Welch and Satterthwaite.
 *
 * @param fit of these points, in their order
 * @param ownLevels whether each cell has a level of its own in the fit
 */
export function allowForCommonTemperature(
  fit: TemperatureFit,
  points: readonly CellResistanceAtTemperature[],
  ownLevels: boolean,
): AllowedTemperatureFit {
  const { covariance } = fit;
  if (covariance === null) return { ...fit, temperatureErrorC: null };
  const settings = settingsOf(points);
  const energyK = fit.activationJPerMol / GAS_CONSTANT;
  const perC = settings.map(({ temperatureC }) => energyK / (temperatureC + ZERO_CELSIUS_K) ** 2);
  const errorC = commonErrorC(fit, settings, perC);
  const pull = pullOf(points, fit.referenceC, ownLevels);
  const added = [
    [0, 0],
    [0, 0],
  ];
  settings.forEach(({ rows }, k) => {
    const variance = (errorC.valueC * perC[k]) ** 2;
    const [level, slope] = [0, 1].map((p) => rows.reduce((sum, row) => sum + pull[row][p], 0));
    added[0][0] += variance * level ** 2;
    added[0][1] += variance * level * slope;
    added[1][0] += variance * level * slope;
    added[1][1] += variance * slope ** 2;
  });
  const widened = covariance.map((row, i) => row.map((value, j) => value + added[i][j]));
  const middlePerC = perC.reduce((sum, one) => sum + one, 0) / perC.length;
  return {
    ...fit,
    covariance: widened,
    referenceStandardErrorOhm: fit.referenceOhm * Math.sqrt(widened[0][0]),
    activationStandardErrorJPerMol: Math.sqrt(widened[1][1]) * GAS_CONSTANT,
    readingDeviation: fit.readingDeviation && Math.hypot(fit.readingDeviation, errorC.valueC * middlePerC),
    degreesOfFreedom: together(covariance[1][1], fit.degreesOfFreedom, added[1][1], errorC.degrees),
    temperatureErrorC: errorC.valueC,
  };
}

interface Setting {
  readonly temperatureC: number;
  readonly rows: readonly number[];
}

function settingsOf(points: readonly CellResistanceAtTemperature[]): Setting[] {
  const ordered = points.map((_, row) => row).sort((a, b) => points[a].temperatureC - points[b].temperatureC);
  const groups: number[][] = [];
  ordered.forEach((row, i) => {
    const before = i === 0 ? null : points[ordered[i - 1]].temperatureC;
    if (before === null || points[row].temperatureC - before > ONE_SETTING_C) groups.push([row]);
    else groups[groups.length - 1].push(row);
  });
  return groups.map((rows) => ({
    temperatureC: rows.reduce((sum, row) => sum + points[row].temperatureC, 0) / rows.length,
    rows,
  }));
}

/** The usual error and what the settings' mean residuals show beyond the scatter of their readings, together. */
function commonErrorC(
  { residuals }: TemperatureFit,
  settings: readonly Setting[],
  perC: readonly number[],
): { valueC: number; degrees: number } {
  const usual = { valueC: USUAL_C, degrees: USUAL_COUNTS };
  const readings = settings.reduce((sum, { rows }) => sum + rows.length, 0);
  const [degrees, within] = [settings.length - 2, readings - settings.length];
  // Where each setting has one reading, its error is in the scatter already.
  if (degrees < 1 || within < 1) return usual;
  const means = settings.map(({ rows }) => rows.reduce((sum, row) => sum + residuals[row], 0) / rows.length);
  const scatter = settings.reduce(
    (sum, { rows }, k) => sum + rows.reduce((part, row) => part + (residuals[row] - means[k]) ** 2, 0),
    0,
  );
  const ofReading = scatter / within;
  const beyond = settings.reduce(
    (sum, { rows }, k) => sum + (means[k] ** 2 - ofReading / rows.length) / perC[k] ** 2,
    0,
  );
  const shown = Math.max(0, beyond);
  return {
    valueC: Math.sqrt((USUAL_COUNTS * USUAL_C ** 2 + shown) / (USUAL_COUNTS + degrees)),
    degrees: USUAL_COUNTS + degrees,
  };
}

/** How far each reading's ln R moves level and slope of the law. */
function pullOf(
  points: readonly CellResistanceAtTemperature[],
  referenceC: number,
  ownLevels: boolean,
): [number, number][] {
  const x = points.map(({ temperatureC }) => inverseKelvin(temperatureC) - inverseKelvin(referenceC));
  const groupOf = points.map(({ cell }) => (ownLevels ? cell : 0));
  const sums = new Map<number, { count: number; sum: number }>();
  groupOf.forEach((group, row) => {
    const { count, sum } = sums.get(group) ?? { count: 0, sum: 0 };
    sums.set(group, { count: count + 1, sum: sum + x[row] });
  });
  const own = groupOf.map((group) => {
    const { count, sum } = sums.get(group) ?? { count: 1, sum: 0 };
    return { count, mean: sum / count };
  });
  const spread = x.reduce((sum, value, row) => sum + (value - own[row].mean) ** 2, 0);
  const centre = [...sums.values()].reduce((sum, one) => sum + one.sum / one.count, 0) / sums.size;
  return x.map((value, row) => {
    const slope = (value - own[row].mean) / spread;
    return [1 / sums.size / own[row].count - centre * slope, slope];
  });
}

/** Degrees of freedom of the sum of two independent variances. */
function together(one: number, oneDegrees: number, other: number, otherDegrees: number): number {
  const lower = one ** 2 / oneDegrees + other ** 2 / otherDegrees;
  return lower > 0 ? Math.max(1, Math.floor((one + other) ** 2 / lower)) : oneDegrees;
}
