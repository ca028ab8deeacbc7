import type { ComparedPairing, PairingResult } from '../../../../server/contract/pairingResult.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';

function methodName(c: ComparedPairing): string {
  switch (c.method) {
    case 'optimum':
      return 'This pairing';
    case 'random-mean':
      return 'By chance, on average';
    case 'random-p95':
      return 'By chance, the worst 5 %';
    case 'sorted-neighbours':
      return `Neighbours when sorted by ${c.feature ?? 'one feature'}`;
    case 'greedy':
      return 'Greedy (best pair first)';
  }
}

/** What the optimum gains over simpler ways of pairing the same cells, in physical units. */
export function Comparison({ result }: { result: PairingResult }) {
  const [units] = useUnits();
  if (result.comparison.length === 0) return null;
  return (
    <>
      <h2>Compared with other methods</h2>
      <Sheet
        label="Comparison"
        head={[
          'Method',
          'Pairs',
          'Total cost',
          'Outside a limit',
          'Mean capacity loss',
          'Mean resistance difference',
          'Mean voltage difference',
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
