import {
  type FeatureQuantity,
  type PairingCriteriaInput,
  type PairingPurpose,
  pairingPurposes,
} from '../../contract/pairingCriteria.ts';
import { fieldError, Refusal } from '../../errors.ts';
import type { CellTable, FeatureColumn } from './readCellTable.ts';

/**
 * Tolerances to start from, in percent of the lot's median: windows in trade use, with no standard behind them
 * (capacity within 1 %, resistance within 5 %); for self-discharge, whose spread is wide, half the median.
 */
const usualTolerancePercent: Readonly<Partial<Record<FeatureQuantity, number>>> = {
  capacity: 1,
  resistance: 5,
  'self-discharge': 50,
};
/** Of several resistances the one nearest to this duration is taken. */
const USUAL_DURATION_S = 10;
/** Quantities that stand in for the resistance where no pulse was measured. */
const resistanceLike: readonly FeatureQuantity[] = ['resistance', 'ohmic-resistance', 'impedance-1khz'];

/**
 * Criteria for a table without any, by what the stacks are for. A quantity that the table lacks is left out for the
 * all-round purpose; the others need all of theirs.
 *
 * @throws Refusal where the table has nothing, or not all, of what the purpose needs.
 */
export function usualCriteria(table: CellTable, purpose: PairingPurpose = 'all-round'): PairingCriteriaInput {
  const wanted = pairingPurposes[purpose].map(({ quantity, importance }) => ({
    quantity,
    importance,
    column: columnFor(table, quantity),
  }));
  const features = wanted.flatMap(({ quantity, importance, column }) =>
    column === null ? [] : [criterion(column, quantity, importance)],
  );
  const lacking = wanted.filter(({ column }) => column === null).map(({ quantity }) => quantity);
  if (features.length === 0 || (purpose !== 'all-round' && lacking.length > 0))
    throw new Refusal('cannot-pair', `The table has no ${lacking.join(' and no ')} to pair by.`, [
      fieldError(
        'columns',
        table.file.header.join(', '),
        `none of these is a ${lacking.join(' or a ')}`,
        'a column such as capacity_Ah or resistance_10s_mohm, or criteria that name the columns',
      ),
    ]);
  return { name: purpose, features };
}

function criterion(column: FeatureColumn, wanted: FeatureQuantity, importance: number) {
  return {
    name: column.quantity,
    quantity: column.quantity,
    column: column.column.source,
    condition: { durationS: column.durationS, direction: column.direction },
    tolerance: { kind: 'percent' as const, value: usualTolerancePercent[wanted] ?? 5 },
    importance,
  };
}

function columnFor(table: CellTable, wanted: FeatureQuantity): FeatureColumn | null {
  const alike = wanted === 'resistance' ? resistanceLike : [wanted];
  // The capacity that a cell gives comes before the one it takes; a resistance while charging before others.
  const rank = ({ quantity, durationS, direction }: FeatureColumn): number => {
    const side = direction === 'charge' ? (quantity === 'capacity' ? 0.1 : -0.1) : 0;
    const duration = durationS === null ? 100 : Math.abs(Math.log(durationS / USUAL_DURATION_S));
    return quantity === 'capacity' ? side : duration + side;
  };
  const found = table.features.filter(({ quantity }) => alike.includes(quantity));
  return found.sort((a, b) => rank(a) - rank(b))[0] ?? null;
}
