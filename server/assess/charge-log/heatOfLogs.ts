import type { CellToFit, PreparedLogs } from '../../../fitting/charge-log/index.ts';
import {
  drivenHeatW,
  fitLogHeat,
  type HeatEstimate,
  type HeatedLog,
} from '../../../fitting/charge-log/index.ts';
import { ENTROPIC, OCV } from '../../../fitting/charging/index.ts';
import { ZERO_CELSIUS_K } from '../../../fitting/numeric/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { LogToEvaluate } from './evaluateChargeLogs.ts';

type Fit = NonNullable<ChargeLogResult['fit']>;
type Estimate = Fit['estimates'][number];

/** Standard uncertainty of the temperature of the surroundings, K, logged and taken; common practice, no source. */
const AMBIENT_LOGGED_K = 0.5;
const AMBIENT_TAKEN_K = 2;
/** A cell whose study has no entropic coefficient: such coefficients are of the order of 0.1 mV/K (from memory, no source). */
const UNKNOWN_ENTROPIC_V_PER_K = 1e-4;
const INSEPARABLE = 0.98;
const NORMAL_95 = 1.959963984540054;

/** What the heat of the logs' cells is found with. */
export interface HeatRequest {
  readonly reads: readonly LogToEvaluate[];
  readonly description: ChargeStudyDescription;
  readonly cells: readonly CellToFit[];
  readonly prepared: PreparedLogs;
  /** Values of the electrical fit. */
  readonly values: Float64Array;
  readonly voltageOffsetV: number;
}

/** Heat capacity and transfer of each cell as estimates of the fit, with the pairs that the logs cannot tell apart. */
export function heatOfLogs(request: HeatRequest): Pick<Fit, 'estimates' | 'inseparable'> {
  const found = request.description.cells.map((_, k) => heatOfCell(request, k));
  return {
    estimates: found.flatMap(({ estimates }) => estimates),
    inseparable: found.flatMap(({ inseparable }) => inseparable),
  };
}

/** The heat of cells whose voltages the fit does not explain: it is made of the measured voltage minus that of the same curve. */
export function withoutIntervals(heat: ReturnType<typeof heatOfLogs>): ReturnType<typeof heatOfLogs> {
  return {
    ...heat,
    estimates: heat.estimates.map((estimate) =>
      estimate.low === null
        ? estimate
        : { ...estimate, standardError: null, low: null, high: null, reason: 'does-not-explain-the-log' },
    ),
  };
}

/** A fit with the heat of its cells, in its estimates and in its study. */
export function withHeat(fit: Fit, heat: ReturnType<typeof heatOfLogs>): Fit {
  const { study } = fit;
  const of = (cell: string, quantity: Estimate['quantity']) =>
    heat.estimates.find((one) => one.cell === cell && one.quantity === quantity && one.low !== null)?.value;
  return {
    ...fit,
    estimates: [...fit.estimates, ...heat.estimates],
    inseparable: [...fit.inseparable, ...heat.inseparable],
    ...(study === undefined
      ? {}
      : {
          study: {
            ...study,
            cells: study.cells.map((cell) => {
              const heatCapacityJPerK = of(cell.name, 'heatCapacityJPerK');
              const heatTransferWPerK = of(cell.name, 'heatTransferWPerK');
              return heatCapacityJPerK === undefined || heatTransferWPerK === undefined
                ? cell
                : { ...cell, thermal: { heatCapacityJPerK, heatTransferWPerK, basis: 'fitted' as const } };
            }),
          },
        }),
  };
}

function heatOfCell(request: HeatRequest, k: number): Pick<Fit, 'estimates' | 'inseparable'> {
  const { description, reads, cells } = request;
  const cell = description.cells[k];
  const before = cells[k].cell.model.thermal;
  const place = (quantity: Estimate['quantity']) => ({ quantity, cell: cell.name, log: null });
  const estimate = (quantity: 'heatCapacityJPerK' | 'heatTransferWPerK', found: HeatEstimate): Estimate => {
    const { value, standardError } = found;
    const stated = before?.[quantity] ?? 0;
    const half = NORMAL_95 * (standardError ?? 0);
    return {
      ...place(quantity),
      soc: null,
      before: stated,
      value: value ?? stated,
      standardError,
      low: value === null ? null : value - half,
      high: value === null ? null : value + half,
      reason: found.reason,
    };
  };
  const heated = heatedLogs(request, k);
  if (heated.length === 0) {
    const nothing = { value: null, standardError: null, reason: 'no-temperature' as const };
    return {
      estimates: (['heatCapacityJPerK', 'heatTransferWPerK'] as const).map((quantity) => ({
        ...estimate(quantity, { ...nothing, reason: null }),
        low: null,
        high: null,
        reason: nothing.reason,
      })),
      inseparable: [],
    };
  }
  const logged = reads.every(({ columns }) => columns.some(({ role }) => role === 'ambient-temperature'));
  const fit = fitLogHeat(heated, {
    ambientK: logged ? AMBIENT_LOGGED_K : AMBIENT_TAKEN_K,
    heatShare: heatShare(request, k),
  });
  const { heatCapacityJPerK, heatTransferWPerK, correlation } = fit;
  const alike = correlation !== null && Math.abs(correlation) > INSEPARABLE;
  return {
    estimates: [
      estimate('heatCapacityJPerK', heatCapacityJPerK),
      estimate('heatTransferWPerK', heatTransferWPerK),
    ],
    inseparable: alike ? [{ a: place('heatCapacityJPerK'), b: place('heatTransferWPerK'), correlation }] : [],
  };
}

/** The logs in which the cell's temperature was logged, with its heat. */
function heatedLogs({ reads, cells, prepared, values }: HeatRequest, k: number): HeatedLog[] {
  return prepared.problem.logs.flatMap((log, l) => {
    const temperatureC = log.temperatureC[k];
    if (temperatureC === null) return [];
    const soc = prepared.problem.socs(values, l, k);
    const { timeS, currentA, voltageV } = log;
    const rows = { timeS, currentA, voltageV: voltageV[k], soc };
    const heatW = drivenHeatW(cells[k].cell, rows, (row) => temperatureC[row]);
    return [{ timeS, temperatureC, heatW, ambientC: reads[l].log.ambientTemperatureC }];
  });
}

/** By how much all of the heat may be off: what is not known of the voltage that drives it, over that voltage. */
function heatShare({ description, cells, prepared, values, voltageOffsetV }: HeatRequest, k: number): number {
  const { cell } = cells[k];
  const { entropicVPerK, uncertainty } = description.cells[k];
  const out = new Float64Array(cell.stride);
  let [weighted, charge, kelvin] = [0, 0, 0];
  prepared.problem.logs.forEach((log, l) => {
    const soc = prepared.problem.socs(values, l, k);
    log.currentA.forEach((current, row) => {
      if (row === 0) return;
      const t = log.temperatureC[k]?.[row] ?? 25;
      cell.evaluate(soc[row], t, cell.socStretch(soc[row]), cell.temperatureStretch(t), out, 0);
      const moved = Math.abs(current) * (log.timeS[row] - log.timeS[row - 1]);
      const over = log.voltageV[k][row] - out[OCV] + (t + ZERO_CELSIUS_K) * out[ENTROPIC];
      weighted += moved * Math.sign(current) * over;
      kelvin += moved * (t + ZERO_CELSIUS_K);
      charge += moved;
    });
  });
  const entropicV = entropicVPerK === undefined ? (UNKNOWN_ENTROPIC_V_PER_K * kelvin) / charge : 0;
  const unknownV = Math.hypot(voltageOffsetV, uncertainty?.ocvV ?? 0, entropicV);
  return unknownV / Math.max(Math.abs(weighted / charge), 1e-6);
}
