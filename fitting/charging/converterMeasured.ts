import { tQuantile } from '../statistics/distributions.ts';
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
}

export interface ConverterCurvePoint {
  readonly outputCurrentA: number;
  readonly lossW: MeasuredValue;
  readonly efficiency: MeasuredValue;
}

/** Standard uncertainty of a reading of a bench meter as a share of it; common practice, no source. */
const READING_SHARE = 5e-4;
const CURVE_POINTS = 12;

/**
 * Output resistance R and fixed-loss current I_f of V_in = N (V + R I), I_in = I / N + I_f from two or more operating points with
 * measured inputs, each with a 95 % interval, and the loss P = R I² + N I_f (V + R I) over the current. The variance of a point is the
 * larger of the scatter about the fit and that of readings good to 0.05 %; Student's quantile has one degree of freedom less than there
 * are points where the scatter decides.
 *
 * @throws RangeError as {@link fitRatioStage}; for points that state efficiencies instead of inputs
 */
export function measuredConverter(ratio: number, points: readonly ConverterPoint[]): MeasuredConverter {
  const fitted = fitRatioStage(ratio, points);
  const inputs = points.flatMap((point) => ('inputVoltageV' in point ? [point] : []));
  if (inputs.length < points.length)
    throw new RangeError('points state efficiencies; an interval needs measured input voltages and currents');
  const { outputResistanceOhm: ohm, fixedLossCurrentA: fixedA } = fitted;
  const n = inputs.length;
  const squares = inputs.reduce((sum, { outputCurrentA }) => sum + outputCurrentA ** 2, 0);
  const ohmSpread = spreadOf(
    inputs.map((p) => p.inputVoltageV / ratio - p.outputVoltageV - ohm * p.outputCurrentA),
    inputs.map((p) => READING_SHARE * Math.hypot(p.inputVoltageV / ratio, p.outputVoltageV)),
  );
  const fixedSpread = spreadOf(
    inputs.map((p) => p.inputCurrentA - p.outputCurrentA / ratio - fixedA),
    inputs.map((p) => READING_SHARE * Math.hypot(p.inputCurrentA, p.outputCurrentA / ratio)),
  );
  const ohmHalf = ohmSpread.half / Math.sqrt(squares);
  const fixedHalf = fixedSpread.half / Math.sqrt(n);
  const meanV = inputs.reduce((sum, p) => sum + p.outputVoltageV, 0) / n;
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
  };
}

/** Half-width of the 95 % interval of one point: by its scatter, at least by what readings can be off. */
function spreadOf(residuals: readonly number[], readings: readonly number[]): { half: number } {
  const degrees = residuals.length - 1;
  const scatter = Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / degrees);
  const reading = Math.sqrt(readings.reduce((sum, r) => sum + r * r, 0) / readings.length);
  return {
    half: Math.max(tQuantile(0.975, degrees) * scatter, tQuantile(0.975, Number.POSITIVE_INFINITY) * reading),
  };
}

function around(value: number, half: number): MeasuredValue {
  return { value, low: value - half, high: value + half };
}
