import type { Measurement } from '../../contract/measurements.ts';
import type { CircuitTable } from '../../contract/parameterSet.ts';

type Capacity = Pick<Measurement, 'quantity' | 'value' | 'cycle' | 'excludedReason'>;

/**
 * The cell's own capacity at an age: of the capacities that count the one measured nearest to a cycle, the later of two as
 * near, the newest of one cycle; a cycle that is not stated is a new cell's. Null where none was measured.
 */
export function capacityAtAge<T extends Capacity>(
  measurements: readonly T[],
  cycle: number | null,
): T | null {
  const away = (one: T) => Math.abs((one.cycle ?? 0) - (cycle ?? 0));
  return measurements
    .filter((m) => m.quantity === 'capacity' && m.value !== null && m.excludedReason === null)
    .reduce<T | null>((best, m) => {
      if (best === null || away(m) < away(best)) return m;
      return away(m) === away(best) && (m.cycle ?? 0) >= (best.cycle ?? 0) ? m : best;
    }, null);
}

/** How a record counted its state of charge: from where, and in parts of which capacity. */
export interface CountedSoc {
  readonly startSoc: number | null;
  readonly capacityAh: number | null;
}

/**
 * A state of charge that a record counted in parts of a stated (rated) capacity, on the cell's own scale: SOC 1 and 0 are the
 * cell's own full and empty, and the charge between them its own capacity. The state at the start of the record is on that
 * scale already. Unchanged where one of the capacities is not known.
 */
export function onOwnScale(
  { startSoc, capacityAh }: CountedSoc,
  ownCapacityAh: number | null,
): (soc: number) => number {
  if (startSoc === null || capacityAh === null || ownCapacityAh === null || !(ownCapacityAh > 0))
    return (soc) => soc;
  const factor = capacityAh / ownCapacityAh;
  return (soc) => startSoc + (soc - startSoc) * factor;
}

/** A circuit table with its states of charge on another scale. */
export function tableOnScale(table: CircuitTable, scale: (soc: number) => number): CircuitTable {
  const { validity, restPolarisations } = table;
  return {
    ...table,
    rows: table.rows.map((row) => ({ ...row, soc: scale(row.soc) })),
    validity: { ...validity, socMin: scale(validity.socMin), socMax: scale(validity.socMax) },
    ...(restPolarisations === undefined
      ? {}
      : { restPolarisations: restPolarisations.map((rest) => ({ ...rest, soc: scale(rest.soc) })) }),
  };
}
