import { nearestToUsual, usualFeatures } from '../../assess/pairing/usualCriteria.ts';
import type { Context } from '../../context.ts';
import type { LotColumns } from '../../contract/lots.ts';
import type { QuantityName } from '../../contract/measurements.ts';
import { pairingPurpose } from '../../contract/pairingCriteria.ts';
import { notFound } from '../../errors.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { findLotHead } from '../../store/lots.ts';
import { listColumns, listNotCompared } from '../../store/measurements.ts';

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
  'thickness',
];

/**
 * What can be compared between the cells of a lot, and which columns to show first: of each usual quantity the one
 * nearest to the type's reference condition and to 10 s, of the columns that nearly as many cells have as any.
 */
export async function readLotColumns(context: Context, lotId: number): Promise<LotColumns> {
  const lot = await findLotHead(context.store, lotId);
  if (!lot) throw notFound('lot', lotId);
  const referenceSoc = (await findCellType(context.store, lot.cellTypeId))?.referenceSoc ?? 0.5;
  const columns = await listColumns(context.store, lotId);
  const suggested: string[] = [];
  for (const quantity of order) {
    const best = nearestToUsual(
      columns.filter((column) => column.quantity === quantity),
      referenceSoc,
    );
    if (best !== null) suggested.push(best.key);
  }
  const purposes = pairingPurpose.options.map((purpose) => {
    const { features, missing } = usualFeatures(columns, purpose, referenceSoc);
    return {
      purpose,
      features: features.map(({ column, ...feature }) => ({ ...feature, key: column.key })),
      missing: [...missing],
    };
  });
  return { columns, suggested, purposes, notCompared: await listNotCompared(context.store, lotId) };
}
