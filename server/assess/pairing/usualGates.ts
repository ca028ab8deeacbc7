import { medianOf } from '../../../fitting/pairing/index.ts';
import {
  type FeatureQuantity,
  type PairingCriteria,
  quantitiesOfFeature,
  type WarningSignCode,
} from '../../contract/pairingCriteria.ts';
import { type MeasuredColumn, usualColumn } from './usualCriteria.ts';

/** A warning sign of a cell, with what it was found by. */
export interface CellSign {
  readonly code: WarningSignCode;
  readonly text: string;
}

/** The signs that keep a cell out of a run, as one text, and those that the run's criteria ignore. */
export function signsOf(
  signs: readonly CellSign[],
  { signsIgnored }: Pick<PairingCriteria, 'signsIgnored'>,
): { warningSign: string | null; ignoredSigns: readonly string[] } {
  const kept = signs.filter(({ code }) => !signsIgnored.includes(code));
  return {
    warningSign: kept.length === 0 ? null : [...new Set(kept.map(({ text }) => text))].join(', '),
    ignoredSigns: [
      ...new Set(signs.filter(({ code }) => signsIgnored.includes(code)).map(({ code }) => code)),
    ],
  };
}

/** A quantity that every run looks at for outliers, whatever its cells are paired by. One value per cell of the run. */
export interface UsualGate {
  readonly name: string;
  readonly quantity: FeatureQuantity;
  readonly values: readonly (number | null)[];
}

/** Quantities in which an outlier is left out of every run. */
export const gatedQuantities: readonly FeatureQuantity[] = [
  'capacity',
  'resistance',
  'ohmic-resistance',
  'impedance-1khz',
  'self-discharge',
];

/** The column of each gated quantity that the criteria do not already judge the cells by. */
export function gateColumns<T extends MeasuredColumn>(
  columns: readonly T[],
  criteria: PairingCriteria,
  referenceSoc: number | null = null,
): { readonly quantity: FeatureQuantity; readonly column: T }[] {
  return gatedQuantities.flatMap((quantity) => {
    if (criteria.features.some((feature) => feature.quantity === quantity)) return [];
    const column = usualColumn(columns, quantity, referenceSoc);
    return column === null ? [] : [{ quantity, column }];
  });
}

/** Whether a column is the open-circuit voltage as delivered, at one state of charge that nobody set. */
export function isDeliveredOcv({ quantity, soc }: MeasuredColumn): boolean {
  return quantitiesOfFeature['open-circuit-voltage'].includes(quantity) && soc === null;
}

/**
 * Share of the median, or amount, below which a difference matters to no stack: a cell within about 3.5 of them is no
 * outlier, however even its lot. Common practice: within the usual windows of matching.
 */
const leastShare: Partial<Record<FeatureQuantity, number>> = {
  capacity: 0.003,
  resistance: 0.01,
  'ohmic-resistance': 0.01,
  'impedance-1khz': 0.01,
};
const leastAmount: Partial<Record<FeatureQuantity, number>> = {
  'open-circuit-voltage': 0.002,
  'self-discharge': 3e-5,
};

/** The least scale in which outliers of a quantity are counted, in the unit of its values. */
export function leastScale(quantity: FeatureQuantity, values: readonly (number | null)[]): number {
  const median = medianOf(values.filter((value): value is number => value !== null)) ?? 0;
  return leastAmount[quantity] ?? (leastShare[quantity] ?? 0) * Math.abs(median);
}
