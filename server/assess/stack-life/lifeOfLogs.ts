import { tQuantile } from '../../../fitting/statistics/index.ts';
import type { ChargeLogResult } from '../../contract/chargeLogResult.ts';
import type { ChargeCellDescription } from '../../contract/chargeStudy.ts';
import type { LifeDrift, LifeTrack } from '../../contract/stackLife.ts';
import { changeOf, NORMAL_95 } from './lifeTracks.ts';

/** A valid evaluation of one or several logs of the stack. */
export interface LoggedAge {
  readonly logs: readonly { readonly id: number; readonly cycle: number | null }[];
  readonly cells: readonly ChargeCellDescription[];
  readonly result: ChargeLogResult;
}

interface StackCell {
  readonly cellId: number;
  readonly serial: string;
}

type Fit = NonNullable<ChargeLogResult['fit']>;

/** Half a percent of the capacity in 100 cycles. Common practice, no source. */
const DRIFT_LIMIT_PER_CYCLE = 0.005 / 100;

/** R0 at half charge of each cell as measured charges gave it: the study's value with the fitted factor. */
export function r0Tracks(cells: readonly StackCell[], ages: readonly LoggedAge[]): LifeTrack[] {
  return cells.flatMap(({ cellId, serial }, k) => {
    const points = ages.flatMap(({ logs, cells: described, result }) => {
      const cycle = logs.length === 1 ? logs[0].cycle : null;
      const found = result.fit && estimate(result.fit, 'r0Factor', described[k].name, null);
      const r0Ohm = r0AtHalf(described[k]);
      if (cycle === null || found == null || found.standardError === null || r0Ohm === null) return [];
      return [
        {
          cycle,
          value: r0Ohm * found.value,
          standardUncertainty: r0Ohm * found.standardError,
          leftOut: null,
        },
      ];
    });
    if (points.length === 0) return [];
    points.sort((a, b) => a.cycle - b.cycle);
    const temperatureC = ages[0].result.conditions.ambientTemperatureC;
    return [
      {
        cellId,
        serial,
        quantity: 'resistance' as const,
        source: 'charge' as const,
        unit: 'Ohm',
        durationS: null,
        soc: 0.5,
        temperatureC,
        points,
        ...changeOf(points),
      },
    ];
  });
}

/** R0 of a description nearest to half charge; null where it is a table over temperature too. */
function r0AtHalf({ r0Ohm, soc }: ChargeCellDescription): number | null {
  if (typeof r0Ohm === 'number') return r0Ohm;
  const at = soc.reduce((best, z, i) => (Math.abs(z - 0.5) < Math.abs(soc[best] - 0.5) ? i : best), 0);
  const value = r0Ohm[at];
  return typeof value === 'number' ? value : null;
}

function estimate(
  fit: Fit,
  quantity: Fit['estimates'][number]['quantity'],
  cell: string,
  log: number | null,
) {
  return fit.estimates.find((one) => one.quantity === quantity && one.cell === cell && one.log === log);
}

/**
 * Charge above empty of each cell minus that of the first one, q = SOC × capacity, at the start of each log whose start SOC was fitted.
 * Charge in series moves both alike, so what changes from cycle to cycle is drift. The slope is weighted by the uncertainties; where the
 * points scatter more than these, the scatter counts.
 */
export function driftOf(cells: readonly StackCell[], ages: readonly LoggedAge[]): LifeDrift[] {
  return cells.slice(1).map(({ cellId, serial }, i): LifeDrift => {
    const points = ages.flatMap((age) => pointsOf(age, i + 1)).sort((a, b) => a.cycle - b.cycle);
    const none = { cellId, serial, points, perCycleAh: null, drifting: false };
    if (points.length === 0) return { ...none, reason: 'no-fitted-start-soc' };
    if (new Set(points.map(({ cycle }) => cycle)).size < 2) return { ...none, reason: 'fewer-than-two-ages' };
    const perCycleAh = slopeOf(points);
    const capacityAh = ages[0].cells[0].capacityAh;
    const { value, low, high } = perCycleAh;
    const away = low !== null && high !== null && low * high > 0;
    const drifting = away && Math.abs(value) > DRIFT_LIMIT_PER_CYCLE * capacityAh;
    return { cellId, serial, points, perCycleAh, reason: null, drifting };
  });
}

function pointsOf({ logs, cells, result }: LoggedAge, k: number): LifeDrift['points'] {
  const { fit } = result;
  if (fit === null) return [];
  const charge = (cell: ChargeCellDescription, log: number) => {
    const start = estimate(fit, 'startSoc', cell.name, log);
    if (start === undefined || start.standardError === null) return null;
    const capacityAh = estimate(fit, 'capacityAh', cell.name, null)?.value ?? cell.capacityAh;
    return { ah: start.value * capacityAh, uncertaintyAh: start.standardError * capacityAh };
  };
  return logs.flatMap(({ id, cycle }, l) => {
    const [first, own] = [charge(cells[0], l), charge(cells[k], l)];
    if (cycle === null || first === null || own === null) return [];
    return [
      {
        cycle,
        logId: id,
        differenceAh: own.ah - first.ah,
        standardUncertaintyAh: Math.hypot(first.uncertaintyAh, own.uncertaintyAh),
      },
    ];
  });
}

function slopeOf(points: LifeDrift['points']): { value: number; low: number; high: number } {
  const weights = points.map(({ standardUncertaintyAh: u }) => 1 / Math.max(u ?? 0, 1e-9) ** 2);
  const sum = weights.reduce((total, w) => total + w, 0);
  const mean = (of: (i: number) => number) => weights.reduce((total, w, i) => total + w * of(i), 0) / sum;
  const [x, y] = [mean((i) => points[i].cycle), mean((i) => points[i].differenceAh)];
  const spread = weights.reduce((total, w, i) => total + w * (points[i].cycle - x) ** 2, 0);
  const value =
    weights.reduce((total, w, i) => total + w * (points[i].cycle - x) * (points[i].differenceAh - y), 0) /
    spread;
  const degrees = points.length - 2;
  const excess = weights.reduce(
    (total, w, i) => total + w * (points[i].differenceAh - y - value * (points[i].cycle - x)) ** 2,
    0,
  );
  const stated = NORMAL_95 / Math.sqrt(spread);
  const scattered =
    degrees < 1 ? 0 : (tQuantile(0.975, degrees) * Math.sqrt(excess / degrees)) / Math.sqrt(spread);
  const half = Math.max(stated, scattered);
  return { value, low: value - half, high: value + half };
}
