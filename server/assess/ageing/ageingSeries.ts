import { throughputAtCycles } from '../../../fitting/ageing/index.ts';
import { temperatureFactor } from '../../../fitting/resistance/index.ts';
import type { AgeingCondition } from '../../contract/ageingAssessment.ts';
import type { AgeingAxis } from '../../contract/ageingTrack.ts';
import type { Cell } from '../../contract/cells.ts';
import { isConditional, type Measurement } from '../../contract/measurements.ts';
import { type AgeingConditions, conditionOf } from './ageingConditions.ts';
import type { AgeingInput } from './ageingTracks.ts';

/** A stored cell with its measurements. */
export interface MeasuredCell {
  readonly cell: Pick<Cell, 'id' | 'serial'>;
  readonly measurements: readonly Measurement[];
}

/** How series are made of measurements. */
export interface SeriesSettings {
  readonly axis: AgeingAxis;
  readonly ratedCapacityAh: number;
  readonly activationEnergyJPerMol: number | null;
  readonly referenceTemperatureC: number;
}

/** Series of one cell and the measurements they rest on. */
export interface CellSeries extends AgeingInput {
  readonly cellId: number;
  readonly measurementIds: readonly number[];
}

/** Quantities that can represent the resistance, the preferred first. */
const resistances = ['resistance', 'rdc', 'r0', 'impedance-1khz', 'r1'] as const;

/**
 * The condition under which most resistances of the cells were measured over life: a series must not mix durations,
 * directions or states of charge. Null where there is none.
 */
export function resistanceCondition(
  cells: readonly MeasuredCell[],
  reducedToC: number | null,
): AgeingCondition | null {
  const counts = new Map<string, { condition: AgeingCondition; count: number; rank: number }>();
  for (const { measurements } of cells) {
    for (const m of measurements) {
      const rank = (resistances as readonly string[]).indexOf(m.quantity);
      if (rank < 0 || m.value === null || isConditional(m.excludedReason)) continue;
      const soc = m.soc === null ? null : Math.round(20 * m.soc) / 20;
      const { quantity, durationS, direction } = m;
      const key = JSON.stringify([quantity, durationS, direction, soc]);
      const entry = counts.get(key) ?? {
        condition: { quantity, durationS, direction, soc, reducedToC },
        count: 0,
        rank,
      };
      counts.set(key, { ...entry, count: entry.count + 1 });
    }
  }
  const sorted = [...counts.values()].sort((a, b) => b.count - a.count || a.rank - b.rank);
  return sorted[0]?.condition ?? null;
}

const fits = (m: Measurement, condition: AgeingCondition): boolean =>
  m.quantity === condition.quantity &&
  m.durationS === condition.durationS &&
  m.direction === condition.direction &&
  (m.soc === null ? null : Math.round(20 * m.soc) / 20) === condition.soc;

/**
 * Makes the series of one cell. A measurement without an age on the wanted axis takes no part. Equivalent full cycles and
 * throughput are taken from the measurement, or worked out from the capacities over the cycles.
 *
 * @returns null where the cell has no value to follow
 */
export function seriesOf(
  { cell, measurements }: MeasuredCell,
  condition: AgeingCondition | null,
  settings: SeriesSettings,
): CellSeries | null {
  const used = measurements.filter(
    (m) =>
      m.value !== null &&
      !isConditional(m.excludedReason) &&
      (m.quantity === 'capacity' || (condition !== null && fits(m, condition))),
  );
  const ageOf = ages(used, settings);
  const aged = used.flatMap((m) => {
    const age = ageOf(m);
    return age === null || !(age >= 0) ? [] : [{ m, age }];
  });
  if (aged.length === 0) return null;
  const column = (capacity: boolean): Float64Array | null => {
    const values = aged.map(({ m }) =>
      (m.quantity === 'capacity') === capacity ? followed(m, settings) : Number.NaN,
    );
    return values.every(Number.isNaN) ? null : Float64Array.from(values);
  };
  return {
    cell: cell.serial,
    cellId: cell.id,
    x: Float64Array.from(aged, ({ age }) => age),
    capacityAh: column(true),
    resistanceOhm: column(false),
    measurementIds: aged.map(({ m }) => m.id),
    conditions: conditionsOf(used),
  };
}

/** Temperature and current of the capacity measurements, where they state them. */
function conditionsOf(used: readonly Measurement[]): AgeingConditions {
  const of = (pick: (m: Measurement) => number | null): number[] =>
    used.flatMap((m) => (m.quantity === 'capacity' ? (pick(m) ?? []) : []));
  const temperature = conditionOf(
    'temperature',
    of((m) => m.temperatureC),
  );
  const current = conditionOf(
    'current',
    of((m) => m.currentA),
  );
  return {
    ...(temperature === null ? {} : { temperatureC: temperature }),
    ...(current === null ? {} : { currentA: current }),
  };
}

function followed(m: Measurement, settings: SeriesSettings): number {
  const value = m.value ?? Number.NaN;
  const { activationEnergyJPerMol: energy, referenceTemperatureC } = settings;
  if (m.quantity === 'capacity' || energy === null) return value;
  // Without its temperature a resistance cannot be reduced, and a mixed series would mislead.
  return m.temperatureC === null
    ? Number.NaN
    : value * temperatureFactor(energy, m.temperatureC, referenceTemperatureC);
}

function ages(used: readonly Measurement[], settings: SeriesSettings): (m: Measurement) => number | null {
  const { axis, ratedCapacityAh } = settings;
  if (axis === 'cycle') return (m) => m.cycle;
  if (axis === 'days') {
    const instants = used.flatMap((m) => (m.measuredAt === null ? [] : [Date.parse(m.measuredAt)]));
    const first = Math.min(...instants.filter(Number.isFinite));
    return (m) => {
      const at = m.measuredAt === null ? Number.NaN : Date.parse(m.measuredAt);
      return Number.isFinite(at) ? (at - first) / 86_400_000 : null;
    };
  }
  const perCycle = axis === 'throughput-ah' ? 2 * ratedCapacityAh : 1;
  const byCycle = throughputByCycle(used);
  return (m) => {
    if (m.efc !== null) return m.efc * perCycle;
    const throughput = m.cycle === null ? undefined : byCycle.get(m.cycle);
    if (throughput === undefined || !Number.isFinite(throughput)) return null;
    return axis === 'throughput-ah' ? throughput : throughput / (2 * ratedCapacityAh);
  };
}

function throughputByCycle(used: readonly Measurement[]): Map<number, number> {
  const capacities = new Map<number, number>();
  for (const m of used) {
    if (m.cycle === null) continue;
    if (m.quantity === 'capacity' && (m.value ?? 0) > 0) capacities.set(m.cycle, m.value ?? 0);
    else if (!capacities.has(m.cycle)) capacities.set(m.cycle, Number.NaN);
  }
  const cycles = Float64Array.from(capacities.keys()).sort();
  const throughput = throughputAtCycles(
    cycles,
    cycles.map((cycle) => capacities.get(cycle) ?? Number.NaN),
  );
  return new Map(Array.from(cycles, (cycle, i) => [cycle, throughput[i]]));
}
