import { tQuantile } from '../statistics/index.ts';
import { type ConverterPoint, fitRatioStage } from './fitRatioStage.ts';

/** A value with its 95 % interval. */
export interface MeasuredValue {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** Parameters of a fixed-ratio converter with what its measured points leave open. */
export interface MeasuredConverter {
  readonly outputResistanceOhm: MeasuredValue;
  readonly fixedLossCurrentA: MeasuredValue;
  /** Loss and efficiency over the output current, at the mean output voltage of the points. */
  readonly curve: readonly ConverterCurvePoint[];
  /** What the intervals took for the meters' errors, and which of it was not stated. */
  readonly meters: Required<MeterErrors>;
  readonly assumed: readonly (keyof MeterErrors)[];
}

export interface ConverterCurvePoint {
  readonly outputCurrentA: number;
  readonly lossW: MeasuredValue;
  readonly efficiency: MeasuredValue;
}

/** Standard uncertainties of the meters' errors. */
export interface MeterErrors {
  /** Of a reading, as a share of it. Default 0.05 %, common practice, no source. */
  readonly readingShare?: number;
  /** Of the constant error. Default 0. */
  readonly voltageOffsetV?: number;
  readonly currentOffsetA?: number;
}

const USUAL: Required<MeterErrors> = { readingShare: 5e-4, voltageOffsetV: 0, currentOffsetA: 0 };
const CURVE_POINTS = 12;

/**
 * Output resistance R and fixed-loss current I_f of V_in = N (V + R I), I_in = I / N + I_f from two or more operating points with
 * measured inputs, each with a 95 % interval, and the loss P = R I² + N I_f (V + R I) over the current. An interval holds the scatter
 * of the points about the fit (Student's quantile with one degree of freedom less than there are points), and the errors that all
 * points share, because one set of meters read them, and that more points do not lessen: a share of the readings and the constant
 * errors. They hold for meters that are no worse; what was assumed of them is in the answer.
 *
 * @throws RangeError as {@link fitRatioStage}; for points that state efficiencies instead of inputs
 */
export function measuredConverter(
  ratio: number,
  points: readonly ConverterPoint[],
  meters: MeterErrors = {},
): MeasuredConverter {
  const fitted = fitRatioStage(ratio, points);
  const inputs = points.flatMap((point) => ('inputVoltageV' in point ? [point] : []));
  if (inputs.length < points.length)
    throw new RangeError('points state efficiencies; an interval needs measured input voltages and currents');
  const { outputResistanceOhm: ohm, fixedLossCurrentA: fixedA } = fitted;
  const n = inputs.length;
  const total = (of: (point: (typeof inputs)[number]) => number): number =>
    inputs.reduce((sum, point) => sum + of(point), 0);
  const squares = total((p) => p.outputCurrentA ** 2);
  const used = { ...USUAL, ...defined(meters) };
  const { readingShare, voltageOffsetV, currentOffsetA } = used;
  const differenceV = commonError(
    inputs.map((p) => [p.inputVoltageV / ratio, p.outputVoltageV]),
    readingShare,
    voltageOffsetV * Math.hypot(1 / ratio, 1),
  );
  const differenceA = commonError(
    inputs.map((p) => [p.inputCurrentA, p.outputCurrentA / ratio]),
    readingShare,
    currentOffsetA * Math.hypot(1, 1 / ratio),
  );
  const ohmHalf = Math.hypot(
    scatter(inputs.map((p) => p.inputVoltageV / ratio - p.outputVoltageV - ohm * p.outputCurrentA)) /
      Math.sqrt(squares),
    (differenceV * total((p) => p.outputCurrentA)) / squares,
  );
  const fixedHalf = Math.hypot(
    scatter(inputs.map((p) => p.inputCurrentA - p.outputCurrentA / ratio - fixedA)) / Math.sqrt(n),
    differenceA,
  );
  const meanV = total((p) => p.outputVoltageV) / n;
  const most = Math.max(...inputs.map((p) => p.outputCurrentA));
  const at = (outputCurrentA: number): ConverterCurvePoint => {
    const lossW = ohm * outputCurrentA ** 2 + ratio * fixedA * (meanV + ohm * outputCurrentA);
    const half = Math.hypot(
      (outputCurrentA ** 2 + ratio * fixedA * outputCurrentA) * ohmHalf,
      ratio * (meanV + ohm * outputCurrentA) * fixedHalf,
    );
    const outW = meanV * outputCurrentA;
    const efficiency = (loss: number): number => outW / (outW + Math.max(loss, 0));
    return {
      outputCurrentA,
      lossW: around(lossW, half),
      efficiency: {
        value: efficiency(lossW),
        low: efficiency(lossW + half),
        high: efficiency(lossW - half),
      },
    };
  };
  return {
    outputResistanceOhm: around(ohm, ohmHalf),
    fixedLossCurrentA: around(fixedA, fixedHalf),
    curve: Array.from({ length: CURVE_POINTS }, (_, i) => at((most * (i + 1)) / CURVE_POINTS)),
    meters: used,
    assumed: (Object.keys(USUAL) as (keyof MeterErrors)[]).filter((name) => meters[name] === undefined),
  };
}

function defined(meters: MeterErrors): MeterErrors {
  return Object.fromEntries(Object.entries(meters).filter(([, value]) => value !== undefined));
}

/** Half-width of the 95 % interval of one point by its scatter about the fit. */
function scatter(residuals: readonly number[]): number {
  const degrees = residuals.length - 1;
  return tQuantile(0.975, degrees) * Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / degrees);
}

/** Half-width of the 95 % interval of the error that the difference of two readings has in all points alike. */
function commonError(
  readings: readonly (readonly [number, number])[],
  share: number,
  offset: number,
): number {
  const square = readings.reduce((sum, [a, b]) => sum + a * a + b * b, 0) / readings.length;
  return tQuantile(0.975, Number.POSITIVE_INFINITY) * Math.hypot(share * Math.sqrt(square), offset);
}

function around(value: number, half: number): MeasuredValue {
  return { value, low: value - half, high: value + half };
}
