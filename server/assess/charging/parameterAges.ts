import type { CellParameters } from '../../contract/parameterSet.ts';

/** Cycles by which capacity and resistances may lie apart and still describe one cell. Common practice, no source. */
const SAME_AGE_CYCLES = 20;

/**
 * What is to be said where the capacity of a cell was followed over its cycles and its pulses were not measured again: the
 * circuit model then joins an aged capacity to the resistances of a younger cell. Null where the ages agree.
 */
export function ageDifference(cell: CellParameters): string | null {
  const capacities = cell.measurements.filter(
    (m) => m.quantity === 'capacity' && m.result.value !== null && m.excludedReason === null,
  );
  const capacityCycle = newestCycle(capacities);
  const tests = new Set(cell.circuits.map((table) => table.testId).filter((id) => id !== null));
  const circuitCycle = newestCycle(
    cell.measurements.filter((m) => m.testId !== null && tests.has(m.testId) && m.quantity !== 'capacity'),
  );
  if (Math.abs(capacityCycle - circuitCycle) <= SAME_AGE_CYCLES) return null;
  const younger = circuitCycle < capacityCycle ? 'resistances' : 'capacity';
  return (
    `capacity of cycle ${capacityCycle} with resistances of cycle ${circuitCycle}: the ${younger} of the aged cell ` +
    `${younger === 'resistances' ? 'are higher' : 'is smaller'}`
  );
}

/** The highest cycle; one that is not stated counts as new. */
function newestCycle(measurements: CellParameters['measurements']): number {
  return measurements.reduce((most, m) => Math.max(most, m.cycle ?? 0), 0);
}
