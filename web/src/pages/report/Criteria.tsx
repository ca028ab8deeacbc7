import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { plainCode } from '../../words/reasons.ts';

/** The criteria a pairing was made by, with percentages resolved to amounts. */
export function Criteria({ result }: { result: PairingResult }) {
  const [units] = useUnits();
  const { criteria } = result;
  return (
    <>
      <h2>Criteria</h2>
      <p>
        {criteria.name}, version {criteria.version}: {plainCode(criteria.objective)}; cells with a missing
        value: {plainCode(criteria.missingValues)};{' '}
        {criteria.outlierLimit === null
          ? 'no limit on outliers'
          : `cells further than ${criteria.outlierLimit} robust standard deviations from the median are left out`}
        {criteria.signsIgnored.length > 0 &&
          `; warning signs ignored: ${criteria.signsIgnored.map(plainCode).join(', ')}`}
        . The cost of a pair is the sum of importance × (difference / tolerance)².
      </p>
      <Sheet
        label="Features"
        head={['Feature', 'Measured as', 'Median', 'Tolerance', 'Importance', 'Pair limit', 'Cell limits']}
        numeric={[2, 3, 4, 5, 6]}
        rows={result.features.map((feature) => [
          feature.name,
          feature.column === null ? '–' : <code key="column">{feature.column}</code>,
          quantity(feature.median, feature.unit, units),
          quantity(feature.tolerance, feature.unit, units, 3),
          feature.importance,
          quantity(feature.pairLimit, feature.unit, units, 3),
          feature.cellMinimum === null && feature.cellMaximum === null
            ? '–'
            : `${quantity(feature.cellMinimum, feature.unit, units)} to ${quantity(feature.cellMaximum, feature.unit, units)}`,
        ])}
      />
    </>
  );
}
