import type { Context } from '../../context.ts';
import type { LotColumns } from '../../contract/lots.ts';
import type { MeasurementColumn, QuantityName } from '../../contract/measurements.ts';
import { notFound } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLot } from '../../store/lots.ts';
import { listColumns } from '../../store/measurements.ts';

/** Quantities in the order in which a practitioner looks at a lot. */
const order: readonly QuantityName[] = [
  'capacity',
  'resistance',
  'impedance-1khz',
  'rdc',
  'r0',
  'ocv',
  'drift',
  'mass',
];

/**
 * What can be compared between the cells of a lot, and which columns to show first: of each usual quantity the one
 * that most cells have, and among equals the one nearest to the type's reference condition and to 10 s.
 */
export async function readLotColumns(context: Context, lotId: number): Promise<LotColumns> {
  const lot = await findLot(context.store, lotId);
  if (!lot) throw notFound('lot', lotId);
  const referenceSoc = (await findCellType(context.store, lot.cellTypeId))?.referenceSoc ?? 0.5;
  const columns = await listColumns(context.store, lotId);
  const suggested: string[] = [];
  for (const quantity of order) {
    const best = columns
      .filter((column) => column.quantity === quantity)
      .sort((a, b) => b.cellCount - a.cellCount || distance(a, referenceSoc) - distance(b, referenceSoc))[0];
    if (best) suggested.push(best.key);
  }
  return { columns, suggested };
}

function distance(column: MeasurementColumn, referenceSoc: number): number {
  const soc = column.soc === null ? 0 : Math.abs(column.soc - referenceSoc) * 20;
  const duration = column.durationS === null ? 0 : Math.abs(Math.log10(column.durationS / 10));
  return soc + duration + (column.direction === 'charge' ? 0.01 : 0);
}
