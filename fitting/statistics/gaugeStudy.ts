import { rangeDivisor } from './controlChart.ts';
import { fProbability } from './distributions.ts';

/**
 * Readings of a crossed gauge study: readings[part][operator][trial], every operator measuring every part
 * equally often. An "operator" may as well be a fixture position or a channel.
 */
export type GaugeReadings = readonly (readonly (readonly number[])[])[];

/**
 * Components as standard deviations in the unit of the readings, and what they mean for telling parts apart.
 */
export interface GaugeComponents {
  readonly repeatability: number;
  readonly reproducibility: number;
  /** √(repeatability² + reproducibility²). */
  readonly gauge: number;
  readonly parts: number;
  readonly total: number;
  /** Gauge over total, a fraction; null without any spread. */
  readonly gaugeShare: number | null;
  /** Gauge as 6σ over the tolerance; null without a tolerance. */
  readonly gaugeToTolerance: number | null;
  /** Number of distinct categories, ⌊1.41 parts/gauge⌋, at least 1; null where the gauge has no spread. */
  readonly distinctCategories: number | null;
}

export interface VarianceRow {
  readonly source: 'parts' | 'operators' | 'interaction' | 'repeatability' | 'total';
  readonly degrees: number;
  readonly sumOfSquares: number;
  readonly meanSquare: number | null;
  /** Null where it has no divisor. */
  readonly f: number | null;
  readonly pValue: number | null;
}

export interface GaugeVarianceAnalysis extends GaugeComponents {
  readonly table: readonly VarianceRow[];
  /** True where the interaction was not significant and its squares were joined to the repeatability. */
  readonly pooled: boolean;
}

interface Size {
  readonly parts: number;
  readonly operators: number;
  readonly trials: number;
}

/**
 * @throws RangeError naming part and operator, unless the study is crossed and balanced with at least 2 of
 * each
 */
function sizeOf(readings: GaugeReadings): Size {
  const parts = readings.length;
  const operators = readings[0]?.length ?? 0;
  const trials = readings[0]?.[0]?.length ?? 0;
  if (parts < 2 || operators < 1 || trials < 2) {
    throw new RangeError(
      `a gauge study needs at least 2 parts and 2 trials, got ${parts} parts and ${trials} trials`,
    );
  }
  readings.forEach((part, p) => {
    if (part.length !== operators)
      throw new RangeError(`part ${p} has ${part.length} operators, part 0 has ${operators}`);
    part.forEach((cell, o) => {
      if (cell.length !== trials)
        throw new RangeError(`part ${p}, operator ${o} has ${cell.length} trials, not ${trials}`);
      cell.forEach((value, t) => {
        if (!Number.isFinite(value))
          throw new RangeError(`part ${p}, operator ${o}, trial ${t} must be finite, got ${value}`);
      });
    });
  });
  return { parts, operators, trials };
}

const average = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
const squares = (values: readonly number[], centre: number): number =>
  values.reduce((sum, value) => sum + (value - centre) ** 2, 0);

/**
 * Gauge repeatability and reproducibility by analysis of variance of the crossed study, parts and operators
 * random (Montgomery and Runger 1993; AIAG, Measurement Systems Analysis, 4th ed.). An interaction with p >
 * `poolAbove` is joined to the repeatability. Negative variance components count as 0.
 *
 * @param tolerance width of the specification, for `gaugeToTolerance`
 * @throws RangeError unless the study is balanced
 */
export function gaugeByVariance(
  readings: GaugeReadings,
  options: { readonly tolerance?: number; readonly poolAbove?: number } = {},
): GaugeVarianceAnalysis {
  const size = sizeOf(readings);
  const { parts, operators, trials } = size;
  const sums = sumsOfSquares(readings, size);
  const interactionF = ratio(sums.interaction, sums.repeatability);
  const interactionP = upperF(interactionF, sums.interaction.degrees, sums.repeatability.degrees);
  // Beside readings that repeat exactly any interaction above rounding is significant, although it has no F.
  const pooled =
    interactionP === null
      ? sums.interaction.sum <= 1e-12 * sums.total.sum
      : interactionP > (options.poolAbove ?? 0.25);
  const joined = {
    degrees: sums.repeatability.degrees + sums.interaction.degrees,
    sum: sums.repeatability.sum + sums.interaction.sum,
  };
  const repeat = meanSquare(pooled ? joined : sums.repeatability);
  const under = pooled ? joined : sums.interaction;
  const component = (above: number, below: number, readingsEach: number): number =>
    Math.max(0, (above - below) / readingsEach);
  const interactionVariance = pooled ? 0 : component(meanSquare(sums.interaction), repeat, trials);
  const operatorVariance = component(meanSquare(sums.operators), meanSquare(under), parts * trials);
  const partVariance = component(meanSquare(sums.parts), meanSquare(under), operators * trials);
  return {
    ...componentsOf(
      Math.sqrt(repeat),
      Math.sqrt(operatorVariance + interactionVariance),
      Math.sqrt(partVariance),
      options.tolerance,
    ),
    pooled,
    table: [
      tableRow('parts', sums.parts, under),
      tableRow('operators', sums.operators, under),
      tableRow('interaction', sums.interaction, sums.repeatability),
      tableRow('repeatability', sums.repeatability, null),
      tableRow('total', sums.total, null),
    ],
  };
}

interface Squares {
  readonly degrees: number;
  readonly sum: number;
}

function sumsOfSquares(readings: GaugeReadings, size: Size): Record<VarianceRow['source'], Squares> {
  const { parts, operators, trials } = size;
  const all = readings.flat(2);
  const grand = average(all);
  const partMeans = readings.map((part) => average(part.flat()));
  const operatorMeans = readings[0].map((_, o) => average(readings.flatMap((part) => part[o])));
  const cellMeans = readings.flatMap((part) => part.map((cell) => average(cell)));
  const partSum = operators * trials * squares(partMeans, grand);
  const operatorSum = parts * trials * squares(operatorMeans, grand);
  const interaction = Math.max(0, trials * squares(cellMeans, grand) - partSum - operatorSum);
  const within = readings.flat().reduce((sum, cell) => sum + squares(cell, average(cell)), 0);
  return {
    parts: { degrees: parts - 1, sum: partSum },
    operators: { degrees: operators - 1, sum: operatorSum },
    interaction: { degrees: (parts - 1) * (operators - 1), sum: interaction },
    repeatability: { degrees: parts * operators * (trials - 1), sum: within },
    total: { degrees: all.length - 1, sum: squares(all, grand) },
  };
}

function meanSquare({ degrees, sum }: Squares): number {
  return degrees > 0 ? sum / degrees : 0;
}

/** F ratio; null without degrees of freedom, or where the divisor is 0. */
function ratio(above: Squares, below: Squares): number | null {
  if (above.degrees === 0 || below.degrees === 0) return null;
  const f = meanSquare(above) / meanSquare(below);
  return Number.isFinite(f) ? f : null;
}

function upperF(f: number | null, d1: number, d2: number): number | null {
  return f === null ? null : 1 - fProbability(f, d1, d2);
}

function tableRow(source: VarianceRow['source'], squaresOf: Squares, under: Squares | null): VarianceRow {
  const { degrees, sum } = squaresOf;
  const f = under === null ? null : ratio(squaresOf, under);
  return {
    source,
    degrees,
    sumOfSquares: sum,
    meanSquare: degrees > 0 ? sum / degrees : null,
    f,
    pValue: under === null ? null : upperF(f, degrees, under.degrees),
  };
}

/**
 * The same by averages and ranges (AIAG, Measurement Systems Analysis, average and range method): quicker by
 * hand, blind to the interaction. The divisors d2* are computed (`rangeDivisor`); the printed constants K1,
 * K2, K3 are their reciprocals.
 *
 * @throws RangeError unless the study is balanced
 */
export function gaugeByRange(
  readings: GaugeReadings,
  options: { readonly tolerance?: number } = {},
): GaugeComponents & {
  readonly meanRange: number;
  readonly operatorDifference: number;
  readonly partRange: number;
} {
  const { parts, operators, trials } = sizeOf(readings);
  const spread = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  const meanRange = average(readings.flat().map(spread));
  const operatorDifference = spread(readings[0].map((_, o) => average(readings.flatMap((part) => part[o]))));
  const partRange = spread(readings.map((part) => average(part.flat())));
  // Printed K1 uses the plain d2 from 16 subgroups on; the difference to d2* is then below 0.5 %.
  const repeatability =
    meanRange / rangeDivisor(trials, parts * operators > 15 ? Infinity : parts * operators);
  const between = operators > 1 ? operatorDifference / rangeDivisor(operators, 1) : 0;
  const reproducibility = Math.sqrt(Math.max(0, between ** 2 - repeatability ** 2 / (parts * trials)));
  return {
    ...componentsOf(repeatability, reproducibility, partRange / rangeDivisor(parts, 1), options.tolerance),
    meanRange,
    operatorDifference,
    partRange,
  };
}

function componentsOf(
  repeatability: number,
  reproducibility: number,
  parts: number,
  tolerance: number | undefined,
): GaugeComponents {
  if (tolerance !== undefined && !(tolerance > 0))
    throw new RangeError(`tolerance must be positive, got ${tolerance}`);
  const gauge = Math.hypot(repeatability, reproducibility);
  const total = Math.hypot(gauge, parts);
  return {
    repeatability,
    reproducibility,
    gauge,
    parts,
    total,
    gaugeShare: total > 0 ? gauge / total : null,
    gaugeToTolerance: tolerance === undefined ? null : (6 * gauge) / tolerance,
    distinctCategories: gauge > 0 ? Math.max(1, Math.floor((Math.SQRT2 * parts) / gauge)) : null,
  };
}
