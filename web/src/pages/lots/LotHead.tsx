import { Button } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { Lot } from '../../../../server/contract/lots.ts';
import { quantity } from '../../format/quantity.ts';
import { day } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { EditLot } from './EditLot.tsx';

export function LotHead({ lot }: { lot: Lot }) {
  const [units] = useUnits();
  const { counts } = lot;
  const [editing, setEditing] = useState(false);
  return (
    <>
      <PageHead
        title={lot.name}
        within={[{ name: 'Lots', path: '/lots' }]}
        actions={
          <>
            <Button variant="default" aria-expanded={editing} onClick={() => setEditing(!editing)}>
              Edit
            </Button>
            <Button component={Link} variant="default" to={`/lots/${lot.id}/report`}>
              Report
            </Button>
          </>
        }
        about={
          <>
            <Link to={`/cell-types?open=${lot.cellTypeId}`}>{lot.cellTypeName}</Link>, rated{' '}
            {quantity(lot.ratedCapacityAh, 'Ah', units)}
            {lot.receivedOn !== null && <> · received {day(lot.receivedOn)}</>} · {counts.cells}{' '}
            {counts.cells === 1 ? 'cell' : 'cells'}, {counts.availableCells} available ·{' '}
            <Link to={`/tests?lotId=${lot.id}`}>
              {counts.tests} {counts.tests === 1 ? 'test' : 'tests'}
            </Link>
            {counts.pairings > 0 && (
              <>
                {' '}
                ·{' '}
                <Link to="/pairings">
                  {counts.pairings} {counts.pairings === 1 ? 'pairing' : 'pairings'}
                </Link>
              </>
            )}
            {' · '}
            <Link to={`/ageing?lotId=${lot.id}`}>ageing</Link>
            {lot.note !== '' && <p>{lot.note}</p>}
          </>
        }
      />
      {editing && <EditLot lot={lot} onDone={() => setEditing(false)} />}
    </>
  );
}
