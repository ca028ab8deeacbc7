import { type LotFeature, medianOf, robustStandardDeviation } from '../../../fitting/pairing/index.ts';
import { type Amount, type PairingCriteria, unitOfQuantity } from '../../contract/pairingCriteria.ts';
import type { UsedFeature } from '../../contract/pairingProposal.ts';
import { fieldError, Refusal } from '../../errors.ts';
import type { CellToPair } from './cellToPair.ts';

/** A feature of the criteria with every percentage resolved. */
export interface ResolvedFeature {
  readonly used: UsedFeature;
  /** Standard uncertainty for cells that state none; null: unknown. */
  readonly usualUncertainty: number | null;
}

/**
 * Resolves percentages against the median over `cells`, all of which have every value.
 *
 * @throws Refusal naming a tolerance or limit that comes out as zero.
 */
export function resolveFeatures(criteria: PairingCriteria, cells: readonly CellToPair[]): ResolvedFeature[] {
  return criteria.features.map((feature, f) => {
    const values = cells.map((cell) => cell.values[f]!);
    const median = medianOf(values) ?? 0;
    const resolve = (amount: Amount | null, field: string): number | null => {
      if (amount === null) return null;
      const size = amount.kind === 'absolute' ? amount.value : (amount.value / 100) * Math.abs(median);
      if (size > 0 || cells.length === 0) return size;
      throw new Refusal('cannot-pair', `The ${field} of feature "${feature.name}" comes out as zero.`, [
        fieldError(
          `features.${f}.${field}`,
          `${amount.value} %`,
          `${amount.value} percent of a median of ${median} is zero`,
          'an absolute amount',
        ),
      ]);
    };
    const used: UsedFeature = {
      name: feature.name,
      quantity: feature.quantity,
      unit: unitOfQuantity[feature.quantity],
      column: feature.column,
      condition: feature.condition,
      median,
      robustStandardDeviation: robustStandardDeviation(values),
      tolerance: resolve(feature.tolerance, 'tolerance') ?? 0,
      importance: feature.importance,
      pairLimit: resolve(feature.pairLimit, 'pairLimit'),
      cellMinimum: feature.cellMinimum,
      cellMaximum: feature.cellMaximum,
    };
    return { used, usualUncertainty: resolve(feature.standardUncertainty, 'standardUncertainty') };
  });
}

/** The features of some cells, as the matching wants them. */
export function lotFeatures(
  features: readonly ResolvedFeature[],
  cells: readonly CellToPair[],
): LotFeature[] {
  return features.map(({ used, usualUncertainty }, f) => ({
    values: Float64Array.from(cells, (cell) => cell.values[f]!),
    standardUncertainties: cells.map((cell) => cell.standardUncertainties[f] ?? usualUncertainty),
    // A tolerance of nothing only arises without cells.
    tolerance: used.tolerance > 0 ? used.tolerance : 1,
    importance: used.importance,
    limit: used.pairLimit ?? Infinity,
  }));
}
