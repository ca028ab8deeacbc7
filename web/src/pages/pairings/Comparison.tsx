import type { ComparedPairing, PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';

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
        feature: c.feature ?? say('pairings.oneFeature'),
      });
    case 'greedy':
      return say('pairings.greedyBestPairFirst');
  }
}

/** What the optimum gains over simpler ways of pairing the same cells, in physical units. */
export function Comparison({ result }: { result: PairingResult }) {
  const [units] = useUnits();
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
          quantity(c.meanCapacityLossAh, 'Ah', units, 3),
          quantity(c.meanResistanceDifferenceOhm, 'ohm', units, 3),
          c.meanVoltageDifferenceV === null ? '–' : `${significant(c.meanVoltageDifferenceV * 1000, 3)} mV`,
        ])}
      />
    </>
  );
}
