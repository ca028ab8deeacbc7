import type { PairingWarning } from '../../../../server/contract/pairingResult.ts';
import { say } from '../../words/i18n.ts';

/** The sentence of a warning of a pairing run. */
export function warningSentence({ code, feature, cells, detail }: PairingWarning): string {
  const named =
    cells.length === 0 ? '' : ` (${cells.slice(0, 8).join(', ')}${cells.length > 8 ? ', …' : ''})`;
  const what = feature ?? say('pairings.aFeature');
  switch (code) {
    case 'feature-without-uncertainty':
      return say('pairings.whatHasNoUncertaintyNothingCan', { what });
    case 'few-cells':
      return say('pairings.thereAreVeryFewCellsThe');
    case 'all-costs-zero':
      return say('pairings.allCostsAreZeroTheFeatures');
    case 'lock-outside-limits':
      return say('pairings.aDemandedPairLiesOutsideThe', { named });
    case 'differences-below-uncertainty':
      return say('pairings.whatMostDifferencesAreSmallerThan', { what });
    case 'no-condition-stated':
      return say('pairings.whatCarriesNoConditionDurationSoc', { what });
    case 'outliers-offered':
      return say('pairings.outliersAreAmongTheOfferedCells', { named });
    case 'unit-assumed':
      return say('pairings.whatNoUnitWasStatedDetail', {
        what,
        detail: detail ?? say('pairings.theUsualOne'),
      });
    case 'main-quantity-missing':
      return say('pairings.noFeatureIsMeasuredTheMain', {
        feature: feature ?? what,
        detail: detail ?? say('pairings.whatIsMeasured'),
      });
    case 'signs-ignored':
      return say('pairings.warningSignsWereIgnoredOnRequest', { detail: detail ?? '', named });
    case 'implausible-value':
      return say('pairings.whatValuesThatCannotBeDo', { what, named });
    case 'columns-not-used':
      return say('pairings.columnsNotUsedDetail', { detail: detail ?? '' });
    case 'reduced-to-temperature':
      return say('pairings.whatValuesMeasuredAtAnotherTemperature', { what, named });
    case 'not-at-stated-temperature':
      return say('pairings.whatValuesStandAsMeasuredNot', { what, named });
    case 'unlike-currents':
      return say('pairings.whatWasMeasuredWithAnotherCurrent', { what, named });
    case 'robust-spread-zero':
      return say('pairings.whatHasNoSpreadSoOutliers', { what });
  }
}
