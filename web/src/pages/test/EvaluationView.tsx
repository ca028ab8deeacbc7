import type { Evaluation } from '../../../../server/contract/tests.ts';
import { instant } from '../../format/time.ts';
import { say } from '../../words/i18n.ts';
import { CapacityView } from './CapacityView.tsx';
import { ImpedanceView } from './ImpedanceView.tsx';
import { PulseView } from './PulseView.tsx';
import { RestView } from './RestView.tsx';

/** What the evaluation found, by the kind of the test, with how and when it was made. */
export function EvaluationView({ evaluation }: { evaluation: Evaluation }) {
  const { fit, evaluation: found } = evaluation;
  return (
    <section aria-label={say('test.evaluation')}>
      {found.kind === 'pulse' && <PulseView result={found.result} cellId={fit.cellId} />}
      {found.kind === 'capacity' && <CapacityView result={found.result} />}
      {found.kind === 'rest' && <RestView result={found.result} />}
      {found.kind === 'impedance' && <ImpedanceView result={found.result} />}
      <p className="by">
        {say('test.evaluationIdAlgorithmVersionAlgorithmversionCreatedat', {
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
