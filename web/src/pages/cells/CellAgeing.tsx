import { Link } from 'react-router';
import type { CellAgeing as Assessment } from '../../../../server/contract/ageing.ts';
import { NotFoundError } from '../../api/problems.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { TrackView } from '../ageing/TrackView.tsx';

export interface CellAgeingProps {
  readonly cell: { readonly id: number; readonly serial: string; readonly lotId: number };
  readonly title?: string;
}

/** The cell over its life, as last assessed. */
export function CellAgeing({ cell, title = 'Over life' }: CellAgeingProps) {
  const { data, error, again } = useRequest<Assessment | null>(`/cells/${cell.id}/ageing`);
  const never = data === null || error instanceof NotFoundError;
  if (error !== null && !never) return <Problem error={error} again={again} />;
  if (data === undefined && !never) return null;
  return (
    <>
      <h2>{title}</h2>
      {never || data === undefined || data === null ? (
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
