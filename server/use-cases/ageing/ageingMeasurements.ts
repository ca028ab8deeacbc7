import { normalQuantile } from '../../../fitting/statistics/index.ts';
import type { AgeingCell } from '../../contract/ageingResult.ts';
import type { AgeingAxis, AgeingQuantityName, AgeingTrack } from '../../contract/ageingTrack.ts';
import type { NewMeasurement } from '../../store/measurements.ts';

const units: Readonly<Record<AgeingAxis, string>> = {
  cycle: '{cycle}',
  'equivalent-full-cycles': '{cycle}',
  'throughput-ah': 'A.h',
  days: 'd',
};

/** The rate that is measured of each quantity. */
export const rateQuantities = {
  capacity: 'fade-rate',
  resistance: 'resistance-rise-rate',
} as const satisfies Record<AgeingQuantityName, string>;

/** What an assessment says of its cell: present rates of fade and rise, and the end of life. */
export function ageingMeasurements(
  cell: AgeingCell,
  cellId: number,
  fitId: number,
  axis: AgeingAxis,
): NewMeasurement[] {
  const last = cell.series.x[cell.series.x.length - 1] ?? null;
  const base = {
    cellId,
    fitId,
    testId: null,
    sourceFileId: null,
    sourceRow: null,
    standardUncertainty: null,
    soc: null,
    temperatureC: null,
    direction: null,
    durationS: null,
    currentA: null,
    cycle: axis === 'cycle' ? last : null,
    efc: axis === 'equivalent-full-cycles' ? last : null,
    excludedReason: null,
    measuredAt: null,
  };
  const tracks = [cell, ...(cell.companion === null ? [] : [cell.companion])];
  const rates = tracks.map((track): NewMeasurement => {
    const rate = presentRate(track);
    const fade = track.quantity === 'capacity';
    return {
      ...base,
      quantity: rateQuantities[track.quantity],
      unit: `${fade ? 'A.h' : 'Ohm'}/${units[axis]}`,
      value: rate,
      reason: rate === null ? 'too-few-points' : 'uncertainty-not-stated',
      method: `slope of the ${track.chosen ?? 'missing'} model at the end of the data`,
    };
  });
  const { value, low, high, extrapolation, reason, name } = cell.earliest;
  const level = cell.limits.find((limit) => limit.name === name)?.forecast.level ?? 0.8;
  const spread =
    extrapolation && low !== null && high !== null
      ? (high - low) / (2 * normalQuantile(0.5 + level / 2))
      : null;
  const end: NewMeasurement = {
    ...base,
    quantity: 'end-of-life',
    unit: units[axis],
    value,
    standardUncertainty: spread,
    reason: value === null ? reason : spread === null ? 'uncertainty-not-stated' : null,
    method: value === null ? 'no forecast' : `${extrapolation ? 'forecast of' : 'crossing of'} ${name}`,
  };
  return [...rates, end];
}

/** Slope at the end of the chosen model's curve; loss counts as positive for capacity. */
function presentRate(track: AgeingTrack): number | null {
  const curve = track.models.find((model) => model.name === track.chosen)?.curve ?? null;
  if (curve === null || curve.x.length < 2) return null;
  const n = curve.x.length;
  const slope = (curve.y[n - 1] - curve.y[n - 2]) / (curve.x[n - 1] - curve.x[n - 2]);
  return track.quantity === 'capacity' ? -slope : slope;
}
