import { lumpedTemperatureC } from '../charging/index.ts';
import { checkResiduals } from '../circuit/index.ts';
import type { FitResult } from '../least-squares/index.ts';
import { fitLeastSquares } from '../least-squares/index.ts';
import { secondDifferenceNoise } from '../numeric/index.ts';
import { columnResolution } from '../records/index.ts';

/** One cell in one log: its measured temperature and the heat made in it, row by row. */
export interface HeatedLog {
  readonly timeS: Float64Array;
  readonly temperatureC: Float64Array;
  /** From the measured voltage and the open-circuit curve (see `drivenHeatW`). */
  readonly heatW: Float64Array;
  readonly ambientC: number;
}

/** What is not known of heat and surroundings before the fit, as standard uncertainties. */
export interface HeatKnowledge {
  /** Of the temperature of the surroundings, K. */
  readonly ambientK: number;
  /** Of all of the heat, relative: error of the open-circuit curve and of an unknown entropic part over the overvoltage. */
  readonly heatShare: number;
}

/** A fitted value, or why there is none. */
export interface HeatEstimate {
  readonly value: number | null;
  readonly standardError: number | null;
  readonly reason: 'too-little-warming' | 'not-separable' | 'not-converged' | null;
}

export interface HeatFit {
  readonly heatCapacityJPerK: HeatEstimate;
  readonly heatTransferWPerK: HeatEstimate;
  /** Of the two estimates; null without both. */
  readonly correlation: number | null;
  /** Root mean square of measured minus computed temperature, K; null without a fit. */
  readonly residualK: number | null;
}

const LEAST_WARMING_K = 1;
/** A standard error above this share of the value says nothing. */
const WIDEST_SHARE = 0.5;
const START = { capacityJPerK: 50, transferWPerK: 0.1 } as const;

/**
 * Heat capacity and heat transfer of a cell from the temperatures of its charges: the lumped balance C dT/dt = q − K (T − T_ambient)
 * integrated through each log and compared with the thermometer, row by row. The first temperature of each log and that of its
 * surroundings (within their uncertainty) are fitted beside them. C and K scale with the heat, so its relative uncertainty adds to theirs.
 * Residuals that are larger than noise or correlated lower the weights and the fit is repeated, as in the fit of the voltages.
 */
export function fitLogHeat(logs: readonly HeatedLog[], known: HeatKnowledge): HeatFit {
  const warming = Math.max(
    ...logs.map(({ temperatureC }) => Math.max(...temperatureC) - Math.min(...temperatureC)),
  );
  if (!(warming >= LEAST_WARMING_K)) return none('too-little-warming');
  const noise = logs.map(({ temperatureC }) => temperatureVariance(temperatureC));
  let widening = logs.map(() => 1);
  let fit = solve(logs, known, (l) => noise[l] * widening[l]);
  for (let pass = 0; pass < 3; pass++) {
    const values = fit.parameters.map(({ value }) => value);
    widening = logs.map((log, l) => {
      const residuals = computed(log, values, l).map((t, row) => log.temperatureC[row] - t);
      const square = residuals.reduce((sum, r) => sum + r * r, 0) / residuals.length;
      return Math.max(1, square / noise[l]) * checkResiduals(residuals).rowsPerIndependent;
    });
    fit = solve(logs, known, (l) => noise[l] * widening[l]);
  }
  if (!fit.converged) return none('not-converged');
  return presented(logs, known, fit);
}

function presented(logs: readonly HeatedLog[], known: HeatKnowledge, fit: FitResult): HeatFit {
  const [capacity, transfer] = fit.parameters;
  const values = fit.parameters.map(({ value }) => value);
  const residuals = logs.flatMap((log, l) => [
    ...computed(log, values, l).map((t, row) => log.temperatureC[row] - t),
  ]);
  const of = ({ value, standardError }: typeof capacity): HeatEstimate => {
    if (standardError === null || standardError > WIDEST_SHARE * value)
      return { value: null, standardError: null, reason: 'not-separable' };
    return { value, standardError: Math.hypot(standardError, known.heatShare * value), reason: null };
  };
  return {
    heatCapacityJPerK: of(capacity),
    heatTransferWPerK: of(transfer),
    correlation: fit.correlation?.[0][1] ?? null,
    residualK: Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / residuals.length),
  };
}

/** Temperatures of one log by parameters C, K, then first temperature and surroundings of each log. */
function computed(log: HeatedLog, values: ArrayLike<number>, place: number): Float64Array {
  const body = { heatCapacityJPerK: values[0], heatTransferWPerK: values[1] };
  const [first, ambient] = [values[2 + 2 * place], values[3 + 2 * place]];
  const { timeS, heatW } = log;
  const out = new Float64Array(timeS.length);
  out[0] = first;
  for (let k = 1; k < timeS.length; k++)
    out[k] = lumpedTemperatureC(
      body,
      (heatW[k] + heatW[k - 1]) / 2,
      ambient,
      out[k - 1],
      timeS[k] - timeS[k - 1],
    );
  return out;
}

function solve(
  logs: readonly HeatedLog[],
  known: HeatKnowledge,
  varianceK2: (log: number) => number,
): FitResult {
  const rows = logs.reduce((sum, { timeS }) => sum + timeS.length, 0);
  const y = new Float64Array(rows + logs.length);
  const weights = new Float64Array(rows + logs.length);
  let at = 0;
  logs.forEach(({ temperatureC, ambientC }, l) => {
    y.set(temperatureC, at);
    weights.fill(1 / varianceK2(l), at, at + temperatureC.length);
    at += temperatureC.length;
    y[rows + l] = ambientC;
    weights[rows + l] = 1 / known.ambientK ** 2;
  });
  const evaluate = (values: Float64Array, out: Float64Array): void => {
    let begin = 0;
    logs.forEach((log, l) => {
      out.set(computed(log, values, l), begin);
      begin += log.timeS.length;
      out[rows + l] = values[3 + 2 * l];
    });
  };
  return fitLeastSquares(
    {
      model: { evaluate },
      parameters: [
        { name: 'heat capacity', unit: 'J/K', start: START.capacityJPerK, min: 1e-3, max: 1e6 },
        { name: 'heat transfer', unit: 'W/K', start: START.transferWPerK, min: 1e-6, max: 1e4 },
        ...logs.flatMap(({ temperatureC, ambientC }, l) => [
          { name: `first temperature ${l + 1}`, unit: '°C', start: temperatureC[0] },
          { name: `surroundings ${l + 1}`, unit: '°C', start: ambientC },
        ]),
      ],
      y,
      weights,
    },
    {
      offsetTolerance: 1e-6,
      costTolerance: 1e-10,
      stepTolerance: 1e-9,
      maxIterations: 80,
      covarianceScale: 'weights',
    },
  );
}

/** Variance of noise and resolution of a thermometer, at least that of 10 mK. */
function temperatureVariance(temperatureC: Float64Array): number {
  const noise = secondDifferenceNoise(temperatureC, () => true);
  return Math.max(noise ** 2, columnResolution(temperatureC) ** 2 / 12, 1e-4);
}

function none(reason: NonNullable<HeatEstimate['reason']>): HeatFit {
  const nothing: HeatEstimate = { value: null, standardError: null, reason };
  return { heatCapacityJPerK: nothing, heatTransferWPerK: nothing, correlation: null, residualK: null };
}
