import type { Evaluation } from '../../../../server/contract/tests.ts';
import { instant } from '../../format/time.ts';
import { CapacityView } from './CapacityView.tsx';
import { ImpedanceView } from './ImpedanceView.tsx';
import { PulseView } from './PulseView.tsx';
import { RestView } from './RestView.tsx';

/** What the evaluation found, by the kind of the test, with how and when it was made. */
export function EvaluationView({ evaluation }: { evaluation: Evaluation }) {
  const { fit, evaluation: found } = evaluation;
  return (
    <section aria-label="Evaluation">
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
