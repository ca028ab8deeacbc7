import { Button } from '@mantine/core';
import { Link, useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { LogEvaluation } from './LogEvaluation.tsx';
import { TakeOver } from './TakeOver.tsx';

/** One stored evaluation of logs, also one that another has taken the place of. */
export default function EvaluationPage() {
  const { id = '' } = useParams();
  const evaluation = useRequest('/stack-log-evaluations/{id}', { params: { id } });
  const { data } = evaluation;
  if (data === undefined)
    return evaluation.loading ? <Waiting /> : <Problem error={evaluation.error} again={evaluation.again} />;
  return (
    <>
      <PageHead
        title={say('stackLogs.measuredChargeOf', { stackName: data.stackName })}
        within={[
          { name: say('stackLogs.stacks'), path: '/stacks' },
          { name: data.stackName, path: `/stacks/${data.stackId}` },
        ]}
        about={say('stackLogs.evaluatedBy', {
          createdAt: instant(data.createdAt),
          createdBy: data.createdBy,
        })}
        actions={
          <Button component={Link} variant="default" to={`/stack-log-evaluations/${data.id}/report`}>
            {say('stackLogs.report')}
          </Button>
        }
      />
      <LogEvaluation evaluation={data} />
      {data.supersededAt === null && <TakeOver evaluation={data} />}
    </>
  );
}
