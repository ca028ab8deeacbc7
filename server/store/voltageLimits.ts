import type { SqlStore } from './store.ts';

/** Rated capacity and the limits that hold for a lot's cells: the datasheet's, or else the chemistry's. */
export async function findVoltageLimits(
  store: SqlStore,
  lotId: number,
): Promise<{ ratedCapacityAh: number; dischargeCutoffV: number; chargeVoltageLimitV: number }> {
  const row = await store.get<ReturnType<typeof findVoltageLimits>>(
    `SELECT t.ratedCapacityAh, COALESCE(t.dischargeCutoffV, k.dischargeCutoffV) AS dischargeCutoffV,
       COALESCE(t.chargeVoltageLimitV, k.chargeVoltageLimitV) AS chargeVoltageLimitV
     FROM Lot l JOIN CellType t ON t.id = l.cellTypeId JOIN Chemistry k ON k.id = t.chemistryId WHERE l.id = ?`,
    lotId,
  );
  if (row === undefined) throw new RangeError(`There is no lot ${lotId}`);
  return row;
}
