import { Link, useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';
import { CountSwitch } from './CountSwitch.tsx';

/** From a number back to its origin: fit, test, rows of the record, file, who and when. */
export default function MeasurementPage() {
  const { id = '' } = useParams();
  const [units] = useUnits();
  const { data, error, loading, again } = useRequest('/measurements/{id}/origin', { params: { id } });
  if (data === undefined) return loading ? <Waiting /> : <Problem error={error} again={again} />;
  const { measurement: m, fit, test, cell, sourceFile } = data;
  return (
    <>
      <PageHead
        title={`${quantityTitle(m)} of ${cell.serial}`}
        within={[
          { name: cell.lotName, path: `/lots/${cell.lotId}` },
          { name: cell.serial, path: `/cells/${cell.id}` },
        ]}
        about="Where this number comes from, step by step back to the file."
      />
      <ol className="origin">
        <li>
          <strong>
            {m.value === null
              ? `No value. ${reasonSentence(m.reason)}`
              : quantityWithUncertainty(m.value, m.standardUncertainty, m.unit, units)}
          </strong>
          {m.standardUncertainty !== null && ' (standard uncertainty)'}
          <br />
          Method: {m.method}
          {m.temperatureC !== null && <> · at {significant(m.temperatureC, 3)} °C</>}
          {m.currentA !== null && <> · at {significant(m.currentA, 3)} A</>}
          {m.cycle !== null && <> · cycle {m.cycle}</>}
          {m.supersededAt !== null && <> · superseded {instant(m.supersededAt)}</>}
          {m.value !== null && m.supersededAt === null && (
            <div>
              Counts: <CountSwitch measured={m} />
            </div>
          )}
        </li>
        {fit !== null && (
          <li>
            Evaluation {fit.id}: {fit.algorithm}, version {fit.algorithmVersion}, {instant(fit.createdAt)}, by{' '}
            {fit.createdBy}
          </li>
        )}
        {test !== null && (
          <li>
            Test{' '}
            <Link to={`/tests/${test.id}`}>{test.label === '' ? `${test.kind} ${test.id}` : test.label}</Link>{' '}
            ({test.kind}){test.startedAt !== null && <>, begun {instant(test.startedAt)}</>}
          </li>
        )}
        <li>
          Cell <Link to={`/cells/${cell.id}`}>{cell.serial}</Link> of lot{' '}
          <Link to={`/lots/${cell.lotId}`}>{cell.lotName}</Link>
        </li>
        {sourceFile !== null && (
          <li>
            File {sourceFile.name}
            {sourceFile.firstRow !== null && (
              <>
                , rows {sourceFile.firstRow} to {sourceFile.lastRow ?? 'the end'}
              </>
            )}
            <br />
            imported {instant(sourceFile.importedAt)} by {sourceFile.importedBy}
            <br />
            SHA-256 <code className="hash">{sourceFile.sha256}</code>
          </li>
        )}
      </ol>
    </>
  );
}
