import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { TrackView } from '../ageing/TrackView.tsx';

export interface CellAgeingProps {
  readonly cell: { readonly id: number; readonly serial: string; readonly lotId: number };
  readonly title?: string;
}

/** The cell over its life, as last assessed. */
export function CellAgeing({ cell, title = say('cells.overLife') }: CellAgeingProps) {
  const { data, error, again } = useRequest('/cells/{id}/ageing', { params: { id: cell.id } });
  if (data === undefined) return <Problem error={error} again={again} />;
  return (
    <>
      <h2>{title}</h2>
      {data === null ? (
        <p>
          {say('cells.notAssessedThisNeedsCapacityOr')}{' '}
          <Link to={`/ageing?lotId=${cell.lotId}`}>{say('cells.wholeLot')}</Link>.
        </p>
      ) : (
        <>
          <TrackView cell={data.assessment.cell} />
          <p>
            <Link to={`/ageing?lotId=${cell.lotId}&cell=${encodeURIComponent(cell.serial)}`}>
              {say('cells.besideTheOtherCellsOfThe')}
            </Link>
          </p>
        </>
      )}
    </>
  );
}
