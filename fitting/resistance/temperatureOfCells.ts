import { GAS_CONSTANT } from '../numeric/index.ts';
import {
  fitTemperature,
  inverseKelvin,
  type ResistanceAtTemperature,
  type TemperatureFit,
} from './temperatureDependence.ts';

/** A resistance of one of several cells at a temperature. */
export interface CellResistanceAtTemperature extends ResistanceAtTemperature {
  /** What tells the cells apart. */
  readonly cell: number;
}

interface Group {
  readonly x: number[];
  readonly y: number[];
  readonly meanX: number;
  readonly meanY: number;
}

/**
 * The Arrhenius law of several cells of one kind: one activation energy for all, and for each cell a level of its own, so
 * that a cell measured at more temperatures than the others does not pull the energy by being more resistive
 * (analysis of covariance with one slope within the groups; Snedecor and Cochran, Statistical Methods). The reference
 * resistance is that of the typical cell: the geometric mean of the cells' levels, its error from their spread.
 * Readings weigh the same, because several cells differ by more than their readings' noise.
 *
 * `largestDeviation` is from the cell's own level; `fallsThroughout` is true where it is so for every cell.
 *
 * @returns null where no cell was measured at two different temperatures
 * @throws RangeError for a resistance that is not positive or a temperature below absolute zero
 */
export function fitTemperatureOfCells(
  points: readonly CellResistanceAtTemperature[],
  referenceC = 25,
): TemperatureFit | null {
  const byCell = new Map<number, CellResistanceAtTemperature[]>();
  for (const point of points) {
    const own = byCell.get(point.cell);
    if (own) own.push(point);
    else byCell.set(point.cell, [point]);
  }
  if (byCell.size < 2) return fitTemperature(points, referenceC);
  const own = [...byCell.values()].map((one) => fitTemperature(one, referenceC));
  const groups = [...byCell.values()].map((one) => groupOf(one, referenceC));
  const spreadX = sum(groups, ({ x, meanX }) => sum(x, (value) => (value - meanX) ** 2));
  if (!(spreadX > 0)) return null;
  const slope =
    sum(groups, ({ x, y, meanX, meanY }) => sum(x, (value, i) => (value - meanX) * (y[i] - meanY))) / spreadX;
  const levels = groups.map(({ meanX, meanY }) => meanY - slope * meanX);
  const level = sum(levels, (value) => value) / levels.length;
  const residuals = groups.flatMap(({ x, y }, g) => x.map((value, i) => y[i] - levels[g] - slope * value));
  const grouped = new Map([...byCell.values()].flat().map((point, i) => [point, residuals[i]]));
  const degrees = points.length - groups.length - 1;
  const errors =
    degrees < 1
      ? null
      : errorsOf(
          groups,
          levels.map((value) => value - level),
          sum(residuals, (r) => r * r) / degrees,
          spreadX,
        );
  const temperatures = points.map(({ temperatureC }) => temperatureC);
  const levelVariance = sum(levels, (value) => (value - level) ** 2) / (groups.length - 1);
  const referenceOhm = Math.exp(level);
  return {
    referenceC,
    referenceOhm,
    referenceStandardErrorOhm: errors && referenceOhm * Math.sqrt(errors[0][0]),
    activationJPerMol: slope * GAS_CONSTANT,
    activationStandardErrorJPerMol: errors && Math.sqrt(errors[1][1]) * GAS_CONSTANT,
    covariance: errors,
    lowestC: Math.min(...temperatures),
    highestC: Math.max(...temperatures),
    points: points.length,
    largestDeviation: Math.max(...residuals.map((r) => Math.abs(Math.exp(r) - 1))),
    fallsThroughout: own.every((fit) => fit === null || fit.fallsThroughout),
    residuals: points.map((point) => grouped.get(point) ?? Number.NaN),
    readingDeviation: degrees < 1 ? null : Math.sqrt(levelVariance + sum(residuals, (r) => r * r) / degrees),
    degreesOfFreedom: degrees,
  };
}

function groupOf(points: readonly ResistanceAtTemperature[], referenceC: number): Group {
  const x = points.map(({ temperatureC }) => inverseKelvin(temperatureC) - inverseKelvin(referenceC));
  const y = points.map(({ valueOhm }) => Math.log(valueOhm));
  return { x, y, meanX: sum(x, (v) => v) / x.length, meanY: sum(y, (v) => v) / y.length };
}

/**
 * Covariance of ln R_ref and Ea/R_gas. The mean level varies with the scatter of the cells' levels (in which the readings' own
 * scatter is) and, away from the reference, with the slope.
 */
function errorsOf(
  groups: readonly Group[],
  offsets: readonly number[],
  variance: number,
  spreadX: number,
): number[][] {
  const n = groups.length;
  const slopeVariance = variance / spreadX;
  const centre = sum(groups, ({ meanX }) => meanX) / n;
  const levelVariance = sum(offsets, (offset) => offset ** 2) / (n - 1) / n;
  const together = -centre * slopeVariance;
  return [
    [levelVariance + centre ** 2 * slopeVariance, together],
    [together, slopeVariance],
  ];
}

function sum<T>(items: readonly T[], of: (item: T, index: number) => number): number {
  return items.reduce((total, item, i) => total + of(item, i), 0);
}
