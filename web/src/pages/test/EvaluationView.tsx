import { Link } from 'react-router';
import type { JoinedRuns } from '../../../../server/contract/joinedRuns.ts';
import type { Evaluation } from '../../../../server/contract/tests.ts';
import { significant } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
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
        {joined.runs.length} runs of the file were evaluated as one record,{' '}
        {joined.follow === 'instants'
          ? 'each at the instant with which it begins.'
          : `end to end with ${significant(joined.gapS, 4)} s between them; what passed between them is not in the file.`}
      </p>
      <details>
        <summary>The runs</summary>
        <ul>
          {tests.map(({ testId, label }) => (
            <li key={testId}>
              <Link to={`/tests/${testId}`}>{label === '' ? `test ${testId}` : label}</Link>
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
    <section aria-label="Evaluation">
      <JoinedNote joined={joinedOf(found)} />
      {found.kind === 'pulse' && <PulseView result={found.result} cellId={fit.cellId} />}
      {found.kind === 'capacity' && <CapacityView result={found.result} />}
      {found.kind === 'rest' && <RestView result={found.result} />}
      {found.kind === 'impedance' && <ImpedanceView result={found.result} />}
      <p className="by">
        Evaluation {fit.id}: {fit.algorithm}, version {fit.algorithmVersion}, {instant(fit.createdAt)}, by{' '}
        {fit.createdBy}. It is never edited; evaluating again makes a new one and marks this one superseded.
      </p>
    </section>
  );
}
