import type { At, Given } from '../../api/endpointTypes.ts';
import { useQuestion } from '../../api/useRequest.ts';
import { whole } from '../../format/number.ts';
import { Problem } from '../../parts/Problem.tsx';
import { useDelayed } from '../../parts/useDelayed.ts';
import { say } from '../../words/i18n.ts';
import { setWords } from './setWords.ts';

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
    <section className="live" aria-label={say('pairings.whatTheseCriteriaAllow')} aria-busy={fetching}>
      <Problem error={error} />
      {question === null && <p>{say('pairings.chooseAtLeastOneFeature')}</p>}
      {data !== undefined && question !== null && (
        <p role="status">
          <strong>{whole(data.feasiblePairs)}</strong>{' '}
          {say('pairings.acceptablePairsAmongOfferedOfferedCells', { offered: data.offered })}
          {data.mostPairs !== null && setWords(data.cellsPerStack).atOnce(data.mostPairs)}.
          {data.feasiblePairs === 0 && say('pairings.relaxAToleranceOrItsLimit')}{' '}
          <span className={data.feasiblePairs > 0 ? 'besides' : undefined}>
            {available !== null &&
              available > data.cells &&
              say('pairings.ofAvailableAvailableCellsAvailable2Are', {
                available,
                available2: available - data.cells,
              })}
            {data.cells > data.offered &&
              say('pairings.cellsLeftOutOutlierWarningSign', {
                cells:
                  data.cells - data.offered === 1
                    ? say('pairings.n1CellIs')
                    : say('pairings.cellsCellsAre', { cells: data.cells - data.offered }),
              })}
            {say('pairings.haveAtLeastOnePartner', {
              cellsWithPartner: data.cellsWithPartner,
            })}
          </span>
        </p>
      )}
    </section>
  );
}
