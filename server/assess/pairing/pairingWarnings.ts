import { judgeCells, medianOf } from '../../../fitting/pairing/index.ts';
import { type PairingCriteria, pairingPurposes } from '../../contract/pairingCriteria.ts';
import type { PairingWarning } from '../../contract/pairingResult.ts';
import type { CellToPair } from './cellToPair.ts';
import type { SortedLot } from './sortedLot.ts';
import { leastScale } from './usualGates.ts';

/** Fewer cells than this leave the optimiser little to choose from. */
const FEW_CELLS = 8;
/** Robust standard deviations beyond which a cell is pointed out though no gate asked for it. */
const USUAL_OUTLIER = 3.5;

/** What a reader should know above the result: what the purpose lacks, and what was let through or does not count. */
export function runWarnings(cells: readonly CellToPair[], criteria: PairingCriteria): PairingWarning[] {
  const warnings: PairingWarning[] = [];
  const main = criteria.purpose === null ? null : pairingPurposes[criteria.purpose][0].quantity;
  if (
    main !== null &&
    !criteria.features.some(({ quantity, importance }) => quantity === main && importance > 0)
  ) {
    const instead = criteria.features.filter(({ importance }) => importance > 0).map(({ name }) => name);
    warnings.push({ code: 'main-quantity-missing', feature: main, cells: [], detail: instead.join(', ') });
  }
  const ignored = cells.filter(({ ignoredSigns }) => (ignoredSigns?.length ?? 0) > 0);
  if (criteria.signsIgnored.length > 0)
    warnings.push({
      code: 'signs-ignored',
      feature: null,
      cells: ignored.map(({ cell }) => cell),
      detail: criteria.signsIgnored.join(', '),
    });
  criteria.features.forEach(({ name }) => {
    const marked = cells.filter(({ implausible }) => implausible?.includes(name));
    if (marked.length > 0)
      warnings.push({ code: 'implausible-value', feature: name, cells: marked.map(({ cell }) => cell) });
  });
  return warnings;
}

/** What a reader should know before trusting the pairs. */
export function pairingWarnings(lot: SortedLot): PairingWarning[] {
  const { criteria, features, offered, numbers, locked } = lot;
  const warnings: PairingWarning[] = [];
  const warn = (code: PairingWarning['code'], feature: string | null = null, named: string[] = []) =>
    warnings.push({ code, feature, cells: named });
  if (offered.length < FEW_CELLS) warn('few-cells');
  features.forEach(({ used }, f) => {
    const { standardUncertainties, values, importance } = numbers[f];
    if (standardUncertainties.includes(null)) warn('feature-without-uncertainty', used.name);
    else {
      const difference = Math.SQRT2 * (medianOf(standardUncertainties as number[]) ?? 0);
      const spread = used.robustStandardDeviation ?? 0;
      if (importance > 0 && offered.length >= 2 && spread <= difference)
        warn('differences-below-uncertainty', used.name);
    }
    if (used.quantity === 'resistance' && used.condition?.durationS == null)
      warn('no-condition-stated', used.name);
    if (
      criteria.outlierLimit !== null &&
      offered.length >= 2 &&
      used.robustStandardDeviation === 0 &&
      leastScale(used.quantity, [...values]) === 0
    )
      warn('robust-spread-zero', used.name);
    if (criteria.outlierLimit === null) {
      const all = [...values];
      const verdicts = judgeCells(
        [
          {
            values: all,
            minimum: null,
            maximum: null,
            required: true,
            leastScale: leastScale(used.quantity, all),
          },
        ],
        USUAL_OUTLIER,
      );
      const outliers = offered.filter((_, i) => verdicts[i] !== null).map(({ cell }) => cell);
      if (outliers.length > 0) warn('outliers-offered', used.name, outliers);
    }
  });
  const same = numbers.every(
    ({ values, importance }) => importance === 0 || values.every((v) => v === values[0]),
  );
  if (offered.length >= 2 && same) warn('all-costs-zero');
  for (const [a, b] of locked)
    if (outsideLimits(a, b, lot)) warn('lock-outside-limits', null, [a.cell, b.cell]);
  return warnings;
}

function outsideLimits(a: CellToPair, b: CellToPair, { features }: SortedLot): boolean {
  return features.some(({ used }, f) => {
    const outside = (value: number) =>
      (used.cellMinimum !== null && value < used.cellMinimum) ||
      (used.cellMaximum !== null && value > used.cellMaximum);
    const [x, y] = [a.values[f]!, b.values[f]!];
    return outside(x) || outside(y) || (used.pairLimit !== null && Math.abs(x - y) > used.pairLimit);
  });
}
