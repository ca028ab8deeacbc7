import { capacityAtAge, countedState, isBeyondEnds } from '../../assess/parameters/ownScale.ts';
import { inOrder } from '../../inOrder.ts';
import { listCountedCellsOf, listCountedMeasurements, setSocs } from '../../store/countedStates.ts';
import { listMeasurements } from '../../store/measurements.ts';
import type { Store } from '../../store/store.ts';

/**
 * Puts the counted states of charge of a cell's measurements on the cell's own scale: the charge moved over the capacity
 * at the age of each measurement, or over the rated capacity where none was measured. To be called in the transaction that
 * adds, takes away, leaves out or lets count a capacity of the cell, or a measurement with a counted state.
 */
export async function recountStates(store: Store, cellId: number): Promise<void> {
  const counted = await listCountedMeasurements(store, cellId);
  if (counted.length === 0) return;
  const capacities = await listMeasurements(store, cellId, 'capacity');
  const own = new Map(counted.map(({ cycle }) => [cycle, capacityAtAge(capacities, cycle)?.value ?? null]));
  const changes = counted.flatMap((one) => {
    const capacityAh = own.get(one.cycle) ?? one.ratedCapacityAh;
    if (capacityAh === null) return [];
    const soc = countedState(one, capacityAh);
    // What had no state because it cannot be gets one only where it now can.
    if (soc === one.soc || (one.soc === null && isBeyondEnds(soc))) return [];
    return [{ id: one.id, soc }];
  });
  await setSocs(store, changes);
}

/** {@link recountStates} of every cell that a file brought values of. */
export async function recountStatesOfFile(store: Store, fileId: number): Promise<void> {
  await inOrder(await listCountedCellsOf(store, fileId), (cellId) => recountStates(store, cellId));
}
