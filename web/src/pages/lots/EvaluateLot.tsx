import { Button } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { LotEvaluated } from '../../../../server/contract/jobs.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { isOver, useJob } from '../../api/useJob.ts';
import { useRunningJob } from '../../api/useRunningJob.ts';
import { significant } from '../../format/number.ts';
import { quantity } from '../../format/quantity.ts';
import { JobProgress } from '../../parts/JobProgress.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Said } from '../../parts/Said.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { quantityTitle } from '../../words/quantities.ts';

/** Evaluates the tests of the lot that wait, or all of them again with old and new side by side. */
export function EvaluateLot({ lot }: { lot: Lot }) {
  const [startedId, setStartedId] = useState<number | null>(null);
  const underWay = useRunningJob('evaluate-lot', lot.id);
  const job = useJob(startedId ?? underWay, ['/lots', '/tests', '/cells']);
  const start = useAction(
    (again: boolean, key) =>
      api.post('/lots/{id}/evaluate', { params: { id: lot.id }, body: { again }, idempotencyKey: key }),
    ['/jobs'],
    (made) => setStartedId(made.id),
  );
  const waiting = lot.counts.testsNotEvaluated;
  const running = (job !== null && !isOver(job)) || (job === null && underWay !== null);
  return (
    <div className="not-print">
      {waiting > 0 && !running && (
        <p className="warning">
          {say('lots.waitingWordToBeEvaluated', {
            waiting,
            word: waiting === 1 ? say('lots.testWaits') : say('lots.testsWait'),
          })}{' '}
          <Button size="compact-sm" loading={start.running} onClick={() => start.run(false)}>
            {say('lots.evaluateNow')}
          </Button>
        </p>
      )}
      {waiting === 0 && lot.counts.tests > 0 && !running && (
        <Button size="compact-sm" variant="default" loading={start.running} onClick={() => start.run(true)}>
          {say('lots.evaluateAllTestsTestsAgain', { tests: lot.counts.tests })}
        </Button>
      )}
      <Problem error={start.error} />
      <JobProgress job={job} name={say('lots.evaluatingTheLot')} />
      {job?.kind === 'evaluate-lot' && job.result !== null && <Outcome found={job.result} />}
    </div>
  );
}

function Outcome({ found }: { found: LotEvaluated }) {
  const [units] = useUnits();
  return (
    <>
      {found.failed.map((f) => (
        <p key={f.testId} className="warning">
          <Link to={`/tests/${f.testId}`}>{say('lots.testTestId', { testId: f.testId })}</Link>{' '}
          {say('lots.couldNotBeEvaluated')} <Said text={f.reason} />
        </p>
      ))}
      {found.compared > 0 && found.changed.length === 0 && (
        <p>{say('lots.comparedValuesComparedWithThoseBefore', { compared: found.compared })}</p>
      )}
      {found.changed.length > 0 && (
        <details open>
          <summary>{say('lots.changedValuesChanged', { changed: found.changed.length })}</summary>
          <Sheet
            label={say('lots.beforeAndAfter')}
            maxHeight={320}
            head={[
              say('lots.cell'),
              say('lots.test'),
              say('lots.quantity'),
              say('lots.before'),
              say('lots.after'),
              say('lots.change'),
            ]}
            numeric={[3, 4, 5]}
            rows={found.changed.slice(0, 500).map((c) => [
              c.cellSerial,
              <Link key="test" to={`/tests/${c.testId}`}>
                {c.testId}
              </Link>,
              quantityTitle(c),
              quantity(c.before, c.unit, units, 5),
              quantity(c.after, c.unit, units, 5),
              c.before === null || c.after === null || c.before === 0
                ? '–'
                : `${significant((100 * (c.after - c.before)) / Math.abs(c.before), 2)} %`,
            ])}
          />
          {found.changed.length > 500 && <p>{say('lots.theFirst500AreShown')}</p>}
        </details>
      )}
    </>
  );
}
