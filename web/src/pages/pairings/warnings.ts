import type { PairingWarning } from '../../../../server/contract/pairingResult.ts';

/** The sentence of a warning of a pairing run. */
export function warningSentence({ code, feature, cells, detail }: PairingWarning): string {
  const named =
    cells.length === 0 ? '' : ` (${cells.slice(0, 8).join(', ')}${cells.length > 8 ? ', …' : ''})`;
  const what = feature ?? 'A feature';
  switch (code) {
    case 'feature-without-uncertainty':
      return `${what} has no uncertainty: nothing can be said about how sure the pairs are in it.`;
    case 'few-cells':
      return 'There are very few cells: the spread of the lot is hardly known.';
    case 'all-costs-zero':
      return 'All costs are zero: the features do not tell the cells apart.';
    case 'lock-outside-limits':
      return `A demanded pair lies outside the limits${named}.`;
    case 'differences-below-uncertainty':
      return `${what}: most differences are smaller than their uncertainty; the choice among such pairs is arbitrary.`;
    case 'no-condition-stated':
      return `${what} carries no condition (duration, SOC, temperature): make sure all cells were measured alike.`;
    case 'outliers-offered':
      return `Outliers are among the offered cells${named}: look at them before pairing.`;
    case 'unit-assumed':
      return `${what}: no unit was stated; ${detail ?? 'the usual one'} was taken.`;
    case 'main-quantity-missing':
      return `No ${feature} is measured, the main quantity for this purpose: the pairs are made by ${detail ?? 'what is measured'} instead.`;
    case 'signs-ignored':
      return `Warning signs were ignored on request (${detail ?? ''})${named}.`;
    case 'implausible-value':
      return `${what}: values that cannot be do not count${named}.`;
    case 'columns-not-used':
      return `Columns not used: ${detail ?? ''}.`;
    case 'reduced-to-temperature':
      return `${what}: values measured at another temperature were carried to the stated one by the law of the cell type${named}.`;
    case 'not-at-stated-temperature':
      return `${what}: values stand as measured, not at the stated temperature, because no law of the cell type covers them${named}.`;
    case 'unlike-currents':
      return `${what} was measured with another current than that of most cells${named}: the values cannot be compared.`;
    case 'robust-spread-zero':
      return `${what} has no spread, so outliers cannot be judged by it.`;
  }
}
