import type { CountedSoc } from '../../contract/common.ts';
import type { Measurement } from '../../contract/measurements.ts';
import type { OpenCircuitCurve } from '../../contract/openCircuit.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import { countingCapacityAh } from '../pulse/countingCapacity.ts';
import { stepsFromReference } from './referenceTemperature.ts';

type Capacity = Pick<Measurement, 'quantity' | 'value' | 'cycle' | 'excludedReason'> &
  Partial<Pick<Measurement, 'temperatureC' | 'currentA'>>;

/** Currents that differ by no more than this share are one rate. */
const SAME_CURRENT = 0.02;

/**
 * The cell's own capacity at an age: of the capacities that count the one measured nearest to a cycle; of several at that
 * age the nearest to 25 °C, since in the cold a cell ends before it is empty; of these the one at the lowest current, for
 * the same reason; of these the newest. A cycle that is not stated is a new cell's. Null where none was measured.
 *
 * @param measurements in the order they were stored
 */
export function capacityAtAge<T extends Capacity>(
  measurements: readonly T[],
  cycle: number | null,
): T | null {
  const age = (one: T): number => Math.abs((one.cycle ?? 0) - (cycle ?? 0));
  return measurements
    .filter((m) => m.quantity === 'capacity' && m.value !== null && m.excludedReason === null)
    .reduce<T | null>((best, m) => {
      if (best === null) return m;
      const order =
        age(m) - age(best) ||
        stepsFromReference(m) - stepsFromReference(best) ||
        compareCurrents(m, best) ||
        (best.cycle ?? 0) - (m.cycle ?? 0);
      return order <= 0 ? m : best;
    }, null);
}

/** Below 0 where the first was measured at a clearly lower current, above 0 at a clearly higher one. */
function compareCurrents(a: Capacity, b: Capacity): number {
  const [ofA, ofB] = [Math.abs(a.currentA ?? 0), Math.abs(b.currentA ?? 0)];
  return Math.abs(ofA - ofB) <= SAME_CURRENT * Math.max(ofA, ofB) ? 0 : ofA - ofB;
}

/** How far beyond empty and full a counted state may lie; farther, start or capacity are wrong. Common practice, no source. */
const BEYOND_ENDS = 0.05;

/** A counted state of charge in parts of a capacity. */
export function countedState(
  { fromSoc, chargeAh }: Pick<CountedSoc, 'fromSoc' | 'chargeAh'>,
  capacityAh: number,
): number {
  return fromSoc + chargeAh / capacityAh;
}

/** Whether a counted state cannot be, because start or capacity are wrong. */
export function isBeyondEnds(soc: number): boolean {
  return soc < -BEYOND_ENDS || soc > 1 + BEYOND_ENDS;
}

/** The state of a record that holds on every scale: where it was stated, or where the record itself is full or empty. */
export function fixedState({
  startSoc,
  startSocBasis,
}: {
  readonly startSoc: number | null;
  readonly startSocBasis: EvaluatedPulseRecord['record']['startSocBasis'];
}): number | null {
  switch (startSocBasis) {
    case 'begins-full':
    case 'reaches-full':
      return 1;
    case 'reaches-empty':
      return 0;
    default:
      return startSoc;
  }
}

/** How a record counted its state of charge: from which state that holds on every scale, and in parts of which capacity. */
export interface SocScale {
  readonly fixedSoc: number | null;
  readonly capacityAh: number | null;
}

/**
 * A state of charge that a record counted in parts of a stated (rated) capacity, on the cell's own scale: SOC 1 and 0 are the
 * cell's own full and empty, and the charge between them its own capacity. Unchanged where one of the capacities is not known.
 */
export function onOwnScale(
  { fixedSoc, capacityAh }: SocScale,
  ownCapacityAh: number | null,
): (soc: number) => number {
  if (fixedSoc === null || capacityAh === null || ownCapacityAh === null || !(ownCapacityAh > 0))
    return (soc) => soc;
  const factor = capacityAh / ownCapacityAh;
  return (soc) => fixedSoc + (soc - fixedSoc) * factor;
}

/**
 * An evaluated pulse record with every state of charge on the cell's own scale, whichever capacity the evaluation counted
 * in. Values beyond 0…1 are kept: they show that start or capacity is wrong.
 *
 * @param ownCapacityAh the cell's own capacity at the age of the test; null where none was measured: the rated one
 */
export function pulseRecordOnScale(
  result: EvaluatedPulseRecord,
  ownCapacityAh: number | null,
): EvaluatedPulseRecord {
  const { settings, record, openCircuit } = result;
  const countedAh = countingCapacityAh(settings);
  const capacityAh = ownCapacityAh ?? settings.ratedCapacityAh;
  if (settings.cellCapacityBasis === 'stated') return result;
  if (countedAh === null || capacityAh === null || countedAh === capacityAh) return result;
  const startSoc = record.startSoc ?? settings.startSoc;
  const fixedSoc = fixedState({ startSoc, startSocBasis: record.startSocBasis });
  const scale = onOwnScale({ fixedSoc, capacityAh: countedAh }, capacityAh);
  const on = (soc: number | null): number | null => (soc === null ? null : scale(soc));
  const before = <T extends { socBefore: number | null }>(one: T): T => ({
    ...one,
    socBefore: on(one.socBefore),
  });
  const at = <T extends { soc: number | null }>(one: T): T => ({ ...one, soc: on(one.soc) });
  return {
    ...result,
    settings: {
      ...settings,
      cellCapacityAh: ownCapacityAh,
      cellCapacityBasis: ownCapacityAh === null ? null : 'measured',
    },
    record: { ...record, startSoc: on(record.startSoc) },
    steps: result.steps.map(before),
    pulses: result.pulses.map(before),
    twoLevelResistances: result.twoLevelResistances.map(before),
    pulsePowers: result.pulsePowers.map(before),
    rests: result.rests.map(at),
    restPolarisations: result.restPolarisations.map(at),
    openCircuit: openCircuit === null ? null : curveOnScale(openCircuit, scale),
    table: result.table.map(at),
  };
}

/** An open-circuit curve on another scale; a slow discharge and charge takes its own ends as empty and full already. */
export function curveOnScale(curve: OpenCircuitCurve, scale: (soc: number) => number): OpenCircuitCurve {
  if (curve.source !== 'rests') return curve;
  // The same voltage over a charge that is another share of the capacity.
  const stretched = scale(1) - scale(0);
  return {
    ...curve,
    soc: curve.soc.map(scale),
    slopeV: curve.slopeV.map((slope) => slope / stretched),
  };
}
