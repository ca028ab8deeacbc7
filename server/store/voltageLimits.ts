import type { Store } from './store.ts';

/** Rated capacity and the limits that hold for a lot's cells: the datasheet's, or else the chemistry's. */
export async function findVoltageLimits(
  store: Store,
  lotId: number,
): Promise<{ ratedCapacityAh: number; dischargeCutoffV: number; chargeVoltageLimitV: number }> {
  const row = await store.db
    .selectFrom('Lot as l')
    .innerJoin('CellType as t', 't.id', 'l.cellTypeId')
    .innerJoin('Chemistry as k', 'k.id', 't.chemistryId')
    .select('t.ratedCapacityAh')
    .select(({ fn }) => [
      fn.coalesce('t.dischargeCutoffV', 'k.dischargeCutoffV').as('dischargeCutoffV'),
      fn.coalesce('t.chargeVoltageLimitV', 'k.chargeVoltageLimitV').as('chargeVoltageLimitV'),
    ])
    .where('l.id', '=', lotId)
    .executeTakeFirst();
  if (row === undefined) throw new RangeError(`There is no lot ${lotId}`);
  return row;
}
