import { Button } from '@mantine/core';
import { Link, useParams } from 'react-router';
import type { Test } from '../../../../server/contract/tests.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant, whole } from '../../format/number.ts';
import { instant, span } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { testVerdict } from '../../words/testVerdict.ts';
import { ChangeTests } from './ChangeTests.tsx';
import { EvaluationView } from './EvaluationView.tsx';
import { Reevaluate } from './Reevaluate.tsx';
import { TestRecord } from './TestRecord.tsx';
import { TestSpectra } from './TestSpectra.tsx';
import { testTitle } from './testColumns.tsx';

export default function TestPage() {
  const { id = '' } = useParams();
  const [units] = useUnits();
  const test = useRequest('/tests/{id}', { params: { id } });
  const { data } = test;
  const evaluation = useRequest(
    '/tests/{id}/evaluation',
    { params: { id } },
    {
      when: data !== undefined && data.evaluatedAt !== null,
    },
  );
  if (data === undefined)
    return test.loading ? <Waiting /> : <Problem error={test.error} again={test.again} />;
  return (
    <>
      <PageHead
        title={testTitle(data)}
        within={[
          { name: data.lotName, path: `/lots/${data.lotId}` },
          { name: data.cellSerial, path: `/cells/${data.cellId}` },
        ]}
        about={<TestFacts test={data} />}
        actions={
          (data.record !== null || data.spectra !== null) && (
            <Button
              component={Link}
              variant="default"
              to={`/exports?subjectKind=test&subjectId=${data.id}&new=yes`}
            >
              {data.record === null ? say('test.exportTheSpectra') : say('test.exportTheRecord')}
            </Button>
          )
        }
      />
      {data.evaluationError !== null && (
        <p className="problem">
          {say('test.theEvaluationWasRefused')} <Said text={data.evaluationError} />
        </p>
      )}
      {evaluation.data !== undefined && (
        <p className="answer">{testVerdict(evaluation.data.evaluation, units).join(' ')}</p>
      )}
      {data.record !== null && <TestRecord test={data} evaluation={evaluation.data ?? null} />}
      {data.spectra !== null && <TestSpectra test={data} evaluation={evaluation.data ?? null} />}
      {data.record === null && data.spectra === null && <p>{say('test.thisTestHasNoSampleRecord')}</p>}
      <details className="not-print">
        <summary>{say('test.missingDetailsSocAtTheStart')}</summary>
        <ChangeTests tests={[data]} />
      </details>
      <Reevaluate test={data} evaluation={evaluation.data ?? null} />
      <Problem error={evaluation.error} again={evaluation.again} />
      {evaluation.data !== undefined && <EvaluationView evaluation={evaluation.data} />}
    </>
  );
}

function TestFacts({ test }: { test: Test }) {
  const facts = [
    plainCode(test.kind),
    test.startedAt === null ? null : say('test.begunStartedAt', { startedAt: instant(test.startedAt) }),
    test.temperatureC === null ? null : `${significant(test.temperatureC, 3)} °C`,
    test.record === null
      ? null
      : say('test.durationSRowCountSamples', {
          durationS: span(test.record.durationS),
          rowCount: whole(test.record.rowCount),
        }),
    test.spectra === null
      ? null
      : say('test.sweepCountWordPointCountPoints', {
          sweepCount: test.spectra.sweepCount,
          word: test.spectra.sweepCount === 1 ? say('test.spectrum') : say('test.spectra2'),
          pointCount: whole(test.spectra.pointCount),
        }),
    test.instrument === '' ? null : test.instrument,
    test.sourceFileName === null
      ? null
      : say('test.fromSourceFileName', { sourceFileName: test.sourceFileName }),
    test.fixtureOhm === null
      ? null
      : say('test.fixtureResistanceMSubtracted', {
          fixtureOhm: significant(test.fixtureOhm * 1000, 3),
        }),
  ];
  return (
    <>
      {facts.filter((f) => f !== null).join(' · ')}
      {test.note !== '' && <p>{test.note}</p>}
    </>
  );
}
