import type { MeasurementColumn } from '../../contract/measurements.ts';
import {
  type FeatureQuantity,
  type PairingCriteriaInput,
  type PairingPurpose,
  pairingPurposes,
  quantitiesOfFeature,
} from '../../contract/pairingCriteria.ts';
import { fieldError, Refusal } from '../../errors.ts';

/** A measured column of a lot or of a table. `key` is what criteria call it by: the key of a lot's column, or a header. */
export type MeasuredColumn = Pick<
  MeasurementColumn,
  'key' | 'quantity' | 'durationS' | 'direction' | 'soc' | 'temperatureC' | 'cellCount'
>;

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
/** Quantities that serve in place of the resistance where no pulse was measured; the result says so. */
const resistanceLike: readonly FeatureQuantity[] = ['resistance', 'ohmic-resistance', 'impedance-1khz'];

/** A feature that a purpose starts from. */
export interface UsualFeature {
  readonly quantity: FeatureQuantity;
  readonly column: MeasuredColumn;
  readonly importance: number;
  readonly tolerancePercent: number;
}

/** What a purpose starts from with the columns that are measured, and what it asks for that is not measured. */
export interface UsualFeatures {
  readonly features: readonly UsualFeature[];
  readonly missing: readonly FeatureQuantity[];
}

/**
 * The features of a purpose from the columns that are measured: for each quantity the column that most cells have, among
 * equals the one nearest to the reference condition. A quantity that nothing measures is left out and named.
 */
export function usualFeatures(
  columns: readonly MeasuredColumn[],
  purpose: PairingPurpose,
  referenceSoc: number | null = null,
): UsualFeatures {
  const features: UsualFeature[] = [];
  const missing: FeatureQuantity[] = [];
  for (const { quantity: wanted, importance } of pairingPurposes[purpose]) {
    const alike = wanted === 'resistance' ? resistanceLike : [wanted];
    const found = alike
      .map((quantity) => ({ quantity, column: usualColumn(columns, quantity, referenceSoc) }))
      .find(({ column }) => column !== null);
    if (found?.quantity !== wanted) missing.push(wanted);
    if (found === undefined || found.column === null) continue;
    const { quantity, column } = found;
    features.push({ quantity, column, importance, tolerancePercent: usualTolerancePercent[wanted] ?? 5 });
  }
  return { features, missing };
}

/** The column of a quantity that pairing takes where nothing else is said; null where none holds it. */
export function usualColumn<T extends MeasuredColumn>(
  columns: readonly T[],
  quantity: FeatureQuantity,
  referenceSoc: number | null = null,
): T | null {
  const names = quantitiesOfFeature[quantity];
  for (const name of names) {
    const column = nearestToUsual(
      columns.filter((one) => one.quantity === name),
      referenceSoc,
    );
    if (column !== null) return column;
  }
  return null;
}

/**
 * Share of the cells of the fullest column that a column nearer to the usual condition needs: a weak cell, whose states of
 * charge are others than those of its lot, does not move the whole lot to another state. Common practice, no source.
 */
const NEARLY_ALL = 0.9;

/** Of the columns that nearly as many cells have as any, the one nearest to the usual condition; null of none. */
export function nearestToUsual<T extends MeasuredColumn>(
  columns: readonly T[],
  referenceSoc: number | null,
): T | null {
  const most = Math.max(0, ...columns.map(({ cellCount }) => cellCount));
  return (
    columns
      .filter(({ cellCount }) => cellCount >= NEARLY_ALL * most)
      .sort(
        (a, b) =>
          distanceFromUsual(a, referenceSoc) - distanceFromUsual(b, referenceSoc) ||
          b.cellCount - a.cellCount,
      )[0] ?? null
  );
}

/** How far a column's condition is from the usual one: 10 s, discharge, the reference state of charge. */
function distanceFromUsual(
  column: Pick<MeasuredColumn, 'soc' | 'durationS' | 'direction' | 'quantity'>,
  referenceSoc: number | null,
): number {
  const soc = column.soc === null || referenceSoc === null ? 0 : Math.abs(column.soc - referenceSoc) * 20;
  const duration =
    column.quantity !== 'resistance'
      ? 0
      : column.durationS === null
        ? 3
        : Math.abs(Math.log10(column.durationS / USUAL_DURATION_S));
  return soc + duration + (column.direction === 'charge' ? 0.01 : 0);
}

/**
 * Criteria where none are given, by what the stacks are for. A quantity that is not measured is left out; the result says
 * so where it is the main one of the purpose.
 *
 * @throws Refusal where nothing that the purpose asks for is measured
 */
export function usualCriteria(
  columns: readonly MeasuredColumn[],
  purpose: PairingPurpose = 'all-round',
): PairingCriteriaInput {
  const { features, missing } = usualFeatures(columns, purpose);
  if (features.length === 0)
    throw new Refusal('cannot-pair', `Nothing is measured to pair by: no ${missing.join(' and no ')}.`, [
      fieldError(
        'columns',
        columns.map(({ key }) => key).join(', '),
        `no ${missing.join(' and no ')} to pair by`,
        'a column such as capacity_Ah or resistance_10s_mohm, or criteria that name the columns',
      ),
    ]);
  return {
    name: purpose,
    purpose,
    features: features.map(({ quantity, column, importance, tolerancePercent }) => ({
      name: quantity,
      quantity,
      column: column.key,
      condition: { durationS: column.durationS, direction: column.direction },
      tolerance: { kind: 'percent' as const, value: tolerancePercent },
      importance,
    })),
  };
}
