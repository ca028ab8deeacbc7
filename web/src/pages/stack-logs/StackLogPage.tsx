import { Button } from '@mantine/core';
import { Link, useParams } from 'react-router';
import type { StackLog } from '../../../../server/contract/stackLogs.ts';
import { useRequest } from '../../api/useRequest.ts';
import { ChartFigure } from '../../charts/ChartFigure.tsx';
import { whole } from '../../format/number.ts';
import { instant, span } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { roleWords } from '../../words/reasons.ts';
import { EvaluateLog } from './EvaluateLog.tsx';
import { LogEvaluation } from './LogEvaluation.tsx';
import { loggedPictures } from './logPictures.ts';
import { TakeOver } from './TakeOver.tsx';

/** A measured charge: its newest evaluation, or the log as it was read until there is one. */
export default function StackLogPage() {
  const { id = '' } = useParams();
  const log = useRequest('/stack-logs/{id}', { params: { id } });
  const evaluations = useRequest('/stack-log-evaluations', { query: { logId: Number(id), limit: 50 } });
  const { data } = log;
  if (data === undefined || evaluations.data === undefined)
    return log.loading || evaluations.loading ? (
      <Waiting />
    ) : (
      <Problem error={log.error ?? evaluations.error} again={log.again} />
    );
  const [newest, ...earlier] = evaluations.data.items;
  return (
    <>
      <PageHead
        title={data.label === '' ? say('stackLogs.logFileName', { fileName: data.fileName }) : data.label}
        within={[
          { name: say('stackLogs.stacks'), path: '/stacks' },
          { name: data.stackName, path: `/stacks/${data.stackId}` },
        ]}
        about={<About log={data} />}
        actions={
          newest !== undefined && (
            <Button component={Link} variant="default" to={`/stack-log-evaluations/${newest.id}/report`}>
              {say('stackLogs.report')}
            </Button>
          )
        }
      />
      {data.state === 'undone' && <p className="warning">{say('stackLogs.theImportOfThisLogWas')}</p>}
      {newest === undefined ? <AsLogged id={data.id} /> : <Newest id={newest.id} />}
      {data.state === 'sealed' && (
        <>
          <h2>{say('stackLogs.compareAndFit')}</h2>
          <EvaluateLog log={data} />
        </>
      )}
      {earlier.length > 0 && (
        <>
          <h2>{say('stackLogs.earlierEvaluations')}</h2>
          <ul>
            {earlier.map((one) => (
              <li key={one.id}>
                <Link to={`/stack-log-evaluations/${one.id}`}>{instant(one.createdAt)}</Link>: {one.verdict}
              </li>
            ))}
          </ul>
        </>
      )}
      <h2>{say('stackLogs.columnsAsTheyWereRead')}</h2>
      <Sheet
        label={say('stackLogs.columns')}
        head={[
          say('stackLogs.columnOfTheFile'),
          say('stackLogs.takenFor'),
          say('stackLogs.unit'),
          say('stackLogs.unitFrom'),
        ]}
        rows={data.columns.map(({ source, role, unit, unitFrom }) => [
          source,
          roleWords(role),
          unit,
          unitFrom,
        ])}
      />
    </>
  );
}

function About({ log }: { log: StackLog }) {
  return (
    <>
      {log.cells.map(({ serial }) => serial).join(' + ')}
      {log.cycle !== null && <> {say('stackLogs.cycleCycle2', { cycle: log.cycle })}</>}
      {log.efc !== null && <> {say('stackLogs.efcEquivalentFullCycles', { efc: log.efc })}</>}
      {log.startedAt !== null && <> · {instant(log.startedAt)}</>}{' '}
      {say('stackLogs.rowCountRowsDurationSFile', {
        rowCount: whole(log.rowCount),
        durationS: span(log.durationS),
        fileName: log.fileName,
      })}
    </>
  );
}

function AsLogged({ id }: { id: number }) {
  const series = useRequest('/stack-logs/{id}/series', { params: { id: String(id) } });
  if (series.data === undefined)
    return series.loading ? <Waiting /> : <Problem error={series.error} again={series.again} />;
  return (
    <>
      {loggedPictures(series.data).map((picture) => (
        <ChartFigure key={picture.title} picture={picture} />
      ))}
    </>
  );
}

function Newest({ id }: { id: number }) {
  const evaluation = useRequest('/stack-log-evaluations/{id}', { params: { id: String(id) } });
  if (evaluation.data === undefined)
    return evaluation.loading ? <Waiting /> : <Problem error={evaluation.error} again={evaluation.again} />;
  return (
    <>
      <LogEvaluation evaluation={evaluation.data} />
      <TakeOver evaluation={evaluation.data} />
    </>
  );
}
