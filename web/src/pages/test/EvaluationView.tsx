import { Link } from 'react-router';
import type { JoinedRuns } from '../../../../server/contract/joinedRuns.ts';
import type { Evaluation } from '../../../../server/contract/tests.ts';
import { significant } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { say } from '../../words/i18n.ts';
import { CapacityView } from './CapacityView.tsx';
import { ImpedanceView } from './ImpedanceView.tsx';
import { PulseView } from './PulseView.tsx';
import { RestView } from './RestView.tsx';

function joinedOf(found: Evaluation['evaluation']): JoinedRuns | null {
  if (found.kind === 'pulse') return found.result.record.joined;
  return found.kind === 'capacity' ? found.result.joined : null;
}

/** How runs of a file make the evaluated record; nothing where it is that of one test. */
function JoinedNote({ joined }: { joined: JoinedRuns | null }) {
  if (joined === null) return null;
  const tests = joined.runs.flatMap(({ testId, label }) => (testId === null ? [] : [{ testId, label }]));
  return (
    <>
      <p className={joined.follow === 'instants' ? undefined : 'warning'}>
        {joined.follow === 'instants'
          ? say('test.runsEvaluatedByInstants', { runs: joined.runs.length })
          : say('test.runsEvaluatedEndToEnd', {
              runs: joined.runs.length,
              gap:
                joined.gapS === null
                  ? say('test.theIntervalOfTheirRows')
                  : `${significant(joined.gapS, 4)} s`,
            })}
      </p>
      <details>
        <summary>{say('test.theRuns')}</summary>
        <ul>
          {tests.map(({ testId, label }) => (
            <li key={testId}>
              <Link to={`/tests/${testId}`}>{label === '' ? say('test.testId', { id: testId }) : label}</Link>
            </li>
          ))}
        </ul>
      </details>
    </>
  );
}

/** What the evaluation found, by the kind of the test, with how and when it was made. */
export function EvaluationView({ evaluation }: { evaluation: Evaluation }) {
  const { fit, evaluation: found } = evaluation;
  return (
    <section aria-label={say('test.evaluation')}>
      <JoinedNote joined={joinedOf(found)} />
      {found.kind === 'pulse' && <PulseView result={found.result} cellId={fit.cellId} />}
      {found.kind === 'capacity' && <CapacityView result={found.result} />}
      {found.kind === 'rest' && <RestView result={found.result} />}
      {found.kind === 'impedance' && <ImpedanceView result={found.result} />}
      <p className="by">
        {say('test.evaluationVersionByItIsNever', {
          id: fit.id,
          algorithm: fit.algorithm,
          algorithmVersion: fit.algorithmVersion,
          createdAt: instant(fit.createdAt),
          createdBy: fit.createdBy,
        })}
      </p>
    </section>
  );
}
