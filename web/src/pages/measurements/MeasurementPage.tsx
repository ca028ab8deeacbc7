import { Link, useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { quantityWithUncertainty } from '../../format/quantity.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { plainCode, reasonSentence } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';
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
        title={say('measurements.mOfSerial', { m: quantityTitle(m), serial: cell.serial })}
        within={[
          { name: cell.lotName, path: `/lots/${cell.lotId}` },
          { name: cell.serial, path: `/cells/${cell.id}` },
        ]}
        about={say('measurements.whereThisNumberComesFromStep')}
      />
      <ol className="origin">
        <li>
          <strong>
            {m.value === null
              ? say('measurements.noValueReason', { reason: reasonSentence(m.reason) })
              : quantityWithUncertainty(m.value, m.standardUncertainty, m.unit, units)}
          </strong>
          {m.standardUncertainty !== null && say('measurements.standardUncertainty')}
          <br />
          {say('measurements.methodMethod', { method: said(m.method) })}
          {m.temperatureC !== null && (
            <> {say('measurements.atTemperatureCC', { temperatureC: significant(m.temperatureC, 3) })}</>
          )}
          {m.currentA !== null && (
            <> {say('measurements.atCurrentAA', { currentA: significant(m.currentA, 3) })}</>
          )}
          {m.cycle !== null && <> {say('measurements.cycleCycle', { cycle: m.cycle })}</>}
          {m.supersededAt !== null && (
            <> {say('measurements.supersededSupersededAt', { supersededAt: instant(m.supersededAt) })}</>
          )}
          {m.value !== null && m.supersededAt === null && (
            <div>
              {say('measurements.counts')} <CountSwitch measured={m} />
            </div>
          )}
        </li>
        {fit !== null && (
          <li>
            {say('measurements.evaluationVersionBy', {
              id: fit.id,
              algorithm: fit.algorithm,
              algorithmVersion: fit.algorithmVersion,
              createdAt: instant(fit.createdAt),
              createdBy: fit.createdBy,
            })}
          </li>
        )}
        {test !== null && (
          <li>
            {say('measurements.test')}{' '}
            <Link to={`/tests/${test.id}`}>
              {test.label === '' ? `${plainCode(test.kind)} ${test.id}` : test.label}
            </Link>{' '}
            ({plainCode(test.kind)})
            {test.startedAt !== null &&
              say('measurements.begunStartedAt', { startedAt: instant(test.startedAt) })}
          </li>
        )}
        <li>
          {say('measurements.cell')} <Link to={`/cells/${cell.id}`}>{cell.serial}</Link>{' '}
          {say('measurements.ofLot')} <Link to={`/lots/${cell.lotId}`}>{cell.lotName}</Link>
        </li>
        {sourceFile !== null && (
          <li>
            {say('measurements.fileSourceFileName', { sourceFileName: sourceFile.name })}
            {sourceFile.firstRow !== null &&
              say('measurements.rowsFirstRowToLastRow', {
                firstRow: sourceFile.firstRow,
                lastRow: sourceFile.lastRow ?? say('measurements.theEnd'),
              })}
            <br />
            {say('measurements.importedBy', {
              importedAt: instant(sourceFile.importedAt),
              importedBy: sourceFile.importedBy,
            })}
            <br />
            {say('measurements.sha256')} <code className="hash">{sourceFile.sha256}</code>
          </li>
        )}
      </ol>
    </>
  );
}
