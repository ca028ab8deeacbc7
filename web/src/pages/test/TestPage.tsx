import { Button } from '@mantine/core';
import { Link, useParams } from 'react-router';
import type { Test } from '../../../../server/contract/tests.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { instant, span } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { ChangeTests } from './ChangeTests.tsx';
import { EvaluationView } from './EvaluationView.tsx';
import { Reevaluate } from './Reevaluate.tsx';
import { TestRecord } from './TestRecord.tsx';
import { TestSpectra } from './TestSpectra.tsx';
import { testTitle } from './testColumns.tsx';

export default function TestPage() {
  const { id = '' } = useParams();
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
              {data.record === null ? 'Export the spectra' : 'Export the record'}
            </Button>
          )
        }
      />
      {data.evaluationError !== null && (
        <p className="problem">The evaluation was refused: {data.evaluationError}</p>
      )}
      {data.record !== null && <TestRecord test={data} evaluation={evaluation.data ?? null} />}
      {data.spectra !== null && <TestSpectra test={data} evaluation={evaluation.data ?? null} />}
      {data.record === null && data.spectra === null && (
        <p>This test has no sample record: its values came as a table.</p>
      )}
      <details className="not-print">
        <summary>Missing details (SOC at the start, temperature, fixture)</summary>
        <ChangeTests key={data.version} tests={[data]} />
      </details>
      <Reevaluate test={data} evaluation={evaluation.data ?? null} />
      <Problem error={evaluation.error} again={evaluation.again} />
      {evaluation.data !== undefined && <EvaluationView evaluation={evaluation.data} />}
    </>
  );
}

function TestFacts({ test }: { test: Test }) {
  const facts = [
    test.kind,
    test.startedAt === null ? null : `begun ${instant(test.startedAt)}`,
    test.temperatureC === null ? null : `${significant(test.temperatureC, 3)} °C`,
    test.record === null
      ? null
      : `${span(test.record.durationS)}, ${test.record.rowCount.toLocaleString('en-GB')} samples`,
    test.spectra === null
      ? null
      : `${test.spectra.sweepCount} ${test.spectra.sweepCount === 1 ? 'spectrum' : 'spectra'}, ${test.spectra.pointCount.toLocaleString('en-GB')} points`,
    test.instrument === '' ? null : test.instrument,
    test.sourceFileName === null ? null : `from ${test.sourceFileName}`,
    test.fixtureOhm === null
      ? null
      : `fixture resistance ${significant(test.fixtureOhm * 1000, 3)} mΩ subtracted`,
  ];
  return (
    <>
      {facts.filter((f) => f !== null).join(' · ')}
      {test.note !== '' && <p>{test.note}</p>}
    </>
  );
}
