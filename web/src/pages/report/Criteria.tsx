import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import { quantity } from '../../format/quantity.ts';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { plainCode } from '../../words/reasons.ts';

/** The criteria a pairing was made by, with percentages resolved to amounts. */
export function Criteria({ result }: { result: PairingResult }) {
  const [units] = useUnits();
  const { criteria } = result;
  return (
    <>
      <h2>{say('report.criteria')}</h2>
      <p>
        {say('report.versionCellsWithAMissingValue', {
          criteriaName: criteria.name,
          version: criteria.version,
          objective: plainCode(criteria.objective),
          missingValues: plainCode(criteria.missingValues),
          outlierLimit:
            criteria.outlierLimit === null
              ? say('report.noLimitOnOutliers')
              : say('report.cellsFurtherThanRobustStandardDeviations', {
                  outlierLimit: criteria.outlierLimit,
                }),
        })}
        {criteria.signsIgnored.length > 0 &&
          say('report.warningSignsIgnored', {
            signsIgnored: criteria.signsIgnored.map(plainCode).join(', '),
          })}
        {say('report.theCostOfAPairIs')}
      </p>
      <Sheet
        label={say('report.features')}
        head={[
          say('report.feature'),
          say('report.measuredAs'),
          say('report.median'),
          say('report.tolerance'),
          say('report.importance'),
          say('report.pairLimit'),
          say('report.cellLimits'),
        ]}
        numeric={[2, 3, 4, 5, 6]}
        rows={result.features.map((feature) => [
          featureWords(feature.name),
          feature.column === null ? '–' : <code key="column">{feature.column}</code>,
          quantity(feature.median, feature.unit, units),
          quantity(feature.tolerance, feature.unit, units, 3),
          feature.importance,
          quantity(feature.pairLimit, feature.unit, units, 3),
          feature.cellMinimum === null && feature.cellMaximum === null
            ? '–'
            : say('report.cellMinimumToCellMaximum', {
                cellMinimum: quantity(feature.cellMinimum, feature.unit, units),
                cellMaximum: quantity(feature.cellMaximum, feature.unit, units),
              }),
        ])}
      />
    </>
  );
}
