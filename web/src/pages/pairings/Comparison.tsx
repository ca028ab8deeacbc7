import type { ComparedPairing, PairingResult } from '../../../../server/contract/pairingResult.ts';
import { differenceWithUnit } from '../../format/difference.ts';
import { significant } from '../../format/number.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';

function methodName(c: ComparedPairing): string {
  switch (c.method) {
    case 'optimum':
      return say('pairings.thisPairing');
    case 'random-mean':
      return say('pairings.byChanceOnAverage');
    case 'random-p95':
      return say('pairings.byChanceTheWorst5');
    case 'sorted-neighbours':
      return say('pairings.neighboursWhenSortedByFeature', {
        feature: c.feature === null ? say('pairings.oneFeature') : featureWords(c.feature),
      });
    case 'greedy':
      return say('pairings.greedyBestPairFirst');
  }
}

/** What the optimum gains over simpler ways of pairing the same cells, in physical units. */
export function Comparison({ result }: { result: PairingResult }) {
  if (result.comparison.length === 0) return null;
  return (
    <>
      <h2>{say('pairings.comparedWithOtherMethods')}</h2>
      <Sheet
        label={say('pairings.comparison')}
        head={[
          say('pairings.method'),
          say('pairings.pairs'),
          say('pairings.totalCost'),
          say('pairings.outsideALimit'),
          say('pairings.meanCapacityLoss'),
          say('pairings.meanResistanceDifference'),
          say('pairings.meanVoltageDifference'),
        ]}
        numeric={[1, 2, 3, 4, 5, 6]}
        rows={result.comparison.map((c) => [
          methodName(c),
          Number.isInteger(c.pairs) ? c.pairs : significant(c.pairs, 3),
          significant(c.totalCost),
          significant(c.outsideLimits, 3),
          differenceWithUnit(c.meanCapacityLossAh, null, 'Ah'),
          differenceWithUnit(c.meanResistanceDifferenceOhm, null, 'ohm'),
          differenceWithUnit(c.meanVoltageDifferenceV, null, 'V'),
        ])}
      />
    </>
  );
}
