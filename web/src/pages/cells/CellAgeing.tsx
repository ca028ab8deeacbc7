import { Link } from 'react-router';
import type { AgeingResult } from '../../../../server/contract/ageing.ts';
import type { Cell } from '../../../../server/contract/cells.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { TrackView } from '../ageing/TrackView.tsx';

/** The cell over its life, where it has been followed. */
export function CellAgeing({ cell }: { cell: Cell }) {
  const ageing = useRequest<AgeingResult>(`/cells/${cell.id}/ageing`);
  const found = ageing.data?.cells.find((c) => c.cell === cell.serial);
  if (ageing.error !== null) return <Problem error={ageing.error} again={ageing.again} />;
  if (ageing.data === undefined) return null;
  return (
    <>
      <h2>Over life</h2>
      {found === undefined ? (
        <p>No life is recorded: this needs capacity or resistance at several cycles.</p>
      ) : (
        <>
          <TrackView cell={found} />
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
