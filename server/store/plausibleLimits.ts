import type { Store } from './store.ts';

/** A current beyond this many times the rated capacity per hour is an instrument's error. Common practice. */
const currentMaxC = 200;

export interface PlausibleLimits {
  readonly voltageMinV: number;
  readonly voltageMaxV: number;
  readonly currentMaxA: number;
}

/** Limits outside which an imported value of a lot's cells is taken for an error: voltages of the chemistry. */
export async function findPlausibleLimits(store: Store, lotId: number): Promise<PlausibleLimits> {
  const row = await store.db
    .selectFrom('Lot as l')
    .innerJoin('CellType as t', 't.id', 'l.cellTypeId')
    .innerJoin('Chemistry as k', 'k.id', 't.chemistryId')
    .select([
      'k.plausibleVoltageMinV as voltageMinV',
      'k.plausibleVoltageMaxV as voltageMaxV',
      't.ratedCapacityAh',
    ])
    .where('l.id', '=', lotId)
    .executeTakeFirst();
  if (row === undefined) throw new RangeError(`There is no lot ${lotId}`);
  return {
    voltageMinV: row.voltageMinV,
    voltageMaxV: row.voltageMaxV,
    currentMaxA: currentMaxC * row.ratedCapacityAh,
  };
}
