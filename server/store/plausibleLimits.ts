import type { SqlStore } from './store.ts';

/** A current beyond this many times the rated capacity per hour is an instrument's error. Common practice. */
const currentMaxC = 200;

/** Limits outside which an imported value of a lot's cells is taken for an error: voltages of the chemistry. */
export async function findPlausibleLimits(
  store: SqlStore,
  lotId: number,
): Promise<{ voltageMinV: number; voltageMaxV: number; currentMaxA: number }> {
  const row = await store.get<{ voltageMinV: number; voltageMaxV: number; ratedCapacityAh: number }>(
    `SELECT k.plausibleVoltageMinV AS voltageMinV, k.plausibleVoltageMaxV AS voltageMaxV, t.ratedCapacityAh
     FROM Lot l JOIN CellType t ON t.id = l.cellTypeId JOIN Chemistry k ON k.id = t.chemistryId WHERE l.id = ?`,
    lotId,
  );
  if (row === undefined) throw new RangeError(`There is no lot ${lotId}`);
  return {
    voltageMinV: row.voltageMinV,
    voltageMaxV: row.voltageMaxV,
    currentMaxA: currentMaxC * row.ratedCapacityAh,
  };
}

/** The rated capacity of the cells of a lot, in Ah. */
export async function findRatedCapacity(store: SqlStore, lotId: number): Promise<number> {
  return (await findPlausibleLimits(store, lotId)).currentMaxA / currentMaxC;
}
