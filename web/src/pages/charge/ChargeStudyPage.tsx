import { Button } from '@mantine/core';
import { Link, useParams } from 'react-router';
import { useJob } from '../../api/useJob.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { newFromPath } from './newFrom.ts';
import { StudyAsked } from './StudyAsked.tsx';
import { StudyResult } from './StudyResult.tsx';

export default function ChargeStudyPage() {
  const { id = '' } = useParams();
  const study = useRequest('/charge-studies/{id}', { params: { id } });
  const { data } = study;
  const job = useJob(data !== undefined && data.result === null ? data.jobId : null, ['/charge-studies']);
  if (data === undefined)
    return study.loading ? <Waiting /> : <Problem error={study.error} again={study.again} />;
  return (
    <>
      <PageHead
        title={data.name}
        within={[
          { name: say('charge.chargeStudies'), path: '/charge-studies' },
          ...(data.stackId === null
            ? []
            : [
                {
                  name: say('charge.stackStackId', { stackId: data.stackId }),
                  path: `/stacks/${data.stackId}`,
                },
              ]),
        ]}
        about={say('charge.cellsCreatedAtByCreatedBy', {
          cells: data.description.cells.map((c) => c.name).join(' + '),
          createdAt: instant(data.createdAt),
          createdBy: data.createdBy,
        })}
        actions={
          <>
            <Button component={Link} variant="default" to={`/charge-studies/${data.id}/report`}>
              {say('charge.report')}
            </Button>
            <Button component={Link} variant="default" to={newFromPath(data)}>
              {say('charge.newFromThis')}
            </Button>
            <Button component={Link} variant="default" to={`/charge-studies/compare?ids=${data.id}`}>
              {say('charge.compare')}
            </Button>
            <Button
              component={Link}
              variant="default"
              to={`/exports?subjectKind=charge-study&subjectId=${data.id}&new=yes`}
            >
              {say('charge.export')}
            </Button>
          </>
        }
      />
      {data.result === null ? (
        <>
          {data.error !== null && <p className="problem">{data.error}</p>}
          <JobProgress job={job} name={say('charge.computingTheStudy')} />
        </>
      ) : (
        <StudyResult
          beside={data.result.asked.length === 0 ? undefined : <StudyAsked result={data.result} />}
          result={data.result}
          name={data.name}
          voltageLimitV={
            data.description.stack.cellVoltageLimitV ?? data.description.cells[0].datasheet.maxVoltageV
          }
        />
      )}
    </>
  );
}
