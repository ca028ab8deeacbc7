import type { At, Given } from '../../api/endpointTypes.ts';
import { useQuestion } from '../../api/useRequest.ts';
import { whole } from '../../format/number.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useDelayed } from '../../parts/useDelayed.ts';

type PairingQuestion = Given<At<'POST', '/pairings/preview'>>['body'];

interface LiveCountProps {
  readonly question: PairingQuestion | null;
  /** Cells of the lots that are available, with those in accepted pairs; null where single cells were chosen. */
  readonly available: number | null;
}

/** How many pairs the criteria allow, following every change. */
export function LiveCount({ question, available }: LiveCountProps) {
  const text = useDelayed(question === null ? '' : JSON.stringify(question), 300);
  const body: PairingQuestion | null = text === '' ? null : JSON.parse(text);
  const { data, error, fetching } = useQuestion('/pairings/preview', body);
  return (
    <section className="live" aria-label="What these criteria allow" aria-busy={fetching}>
      <Problem error={error} />
      {question === null && <p>Choose at least one feature.</p>}
      {data !== undefined && question !== null && (
        <p role="status">
          <strong>{whole(data.feasiblePairs)}</strong> acceptable pairs among {data.offered} offered cells
          {data.mostPairs !== null && <>; at most {data.mostPairs} pairs at once</>}.
          {data.feasiblePairs === 0 && ' Relax a tolerance or its limit.'}{' '}
          <span className={data.feasiblePairs > 0 ? 'besides' : undefined}>
            {available !== null &&
              available > data.cells &&
              `Of ${available} available cells ${available - data.cells} are in accepted pairs already. `}
            {data.cells > data.offered &&
              `${data.cells - data.offered === 1 ? '1 cell is' : `${data.cells - data.offered} cells are`} left out (outlier, warning sign or missing value). `}
            {data.cellsWithPartner} have at least one partner.
          </span>
        </p>
      )}
    </section>
  );
}
