import { useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { LogEvaluation } from '../stack-logs/LogEvaluation.tsx';
import { Origin } from './Origin.tsx';
import { ReportPage } from './ReportPage.tsx';

/** The report of a measured charge beside the computed one. */
export default function LogReport() {
  const { id = '' } = useParams();
  const evaluation = useRequest('/stack-log-evaluations/{id}', { params: { id } });
  const { data } = evaluation;
  if (data === undefined)
    return evaluation.loading ? <Waiting /> : <Problem error={evaluation.error} again={evaluation.again} />;
  return (
    <ReportPage
      title={say('report.measuredChargeOfTheStack', { stackName: data.stackName })}
      within={[{ name: data.stackName, path: `/stacks/${data.stackId}` }]}
      about={say('report.cellsCreatedAtByCreatedBy', {
        cells: data.inputs.description.cells.map(({ name }) => name).join(' + '),
        createdAt: instant(data.createdAt),
        createdBy: data.createdBy,
      })}
    >
      <LogEvaluation evaluation={data} onPaper />
      {data.inputs.study.from === 'stack' && <Origin kind="stack" id={data.stackId} />}
    </ReportPage>
  );
}
