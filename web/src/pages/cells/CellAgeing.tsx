import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { TrackView } from '../ageing/TrackView.tsx';

export interface CellAgeingProps {
  readonly cell: { readonly id: number; readonly serial: string; readonly lotId: number };
  readonly title?: string;
}

/** The cell over its life, as last assessed. */
export function CellAgeing({ cell, title = 'Over life' }: CellAgeingProps) {
  const { data, error, again } = useRequest('/cells/{id}/ageing', { params: { id: cell.id } });
  if (data === undefined) return <Problem error={error} again={again} />;
  return (
    <>
      <h2>{title}</h2>
      {data === null ? (
        <p>
          Not assessed: this needs capacity or resistance at several cycles. It is assessed for the{' '}
          <Link to={`/ageing?lotId=${cell.lotId}`}>whole lot</Link>.
        </p>
      ) : (
        <>
          <TrackView cell={data.assessment.cell} />
          <p>
            <Link to={`/ageing?lotId=${cell.lotId}&cell=${encodeURIComponent(cell.serial)}`}>
              Beside the other cells of the lot
            </Link>
          </p>
        </>
      )}
    </>
  );
}
