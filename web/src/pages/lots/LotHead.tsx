import { Button } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { Lot } from '../../../../server/contract/lots.ts';
import { quantity } from '../../format/quantity.ts';
import { day } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { useUnits } from '../../settings/useUnits.ts';
import { say } from '../../words/i18n.ts';
import { EditLot } from './EditLot.tsx';

export function LotHead({ lot }: { lot: Lot }) {
  const [units] = useUnits();
  const { counts } = lot;
  const [editing, setEditing] = useState(false);
  return (
    <>
      <PageHead
        title={lot.name}
        within={[{ name: say('lots.lots'), path: '/lots' }]}
        actions={
          <>
            <Button variant="default" aria-expanded={editing} onClick={() => setEditing(!editing)}>
              {say('lots.edit')}
            </Button>
            <Button component={Link} variant="default" to={`/lots/${lot.id}/report`}>
              {say('lots.report')}
            </Button>
          </>
        }
        about={
          <>
            <Link to={`/cell-types?open=${lot.cellTypeId}`}>{lot.cellTypeName}</Link>
            {say('lots.ratedRatedCapacityAh', {
              ratedCapacityAh: quantity(lot.ratedCapacityAh, 'Ah', units),
            })}
            {lot.receivedOn !== null && (
              <> {say('lots.receivedReceivedOn', { receivedOn: day(lot.receivedOn) })}</>
            )}{' '}
            {say('lots.cellsWordAvailableCellsAvailable', {
              cells: counts.cells,
              word: counts.cells === 1 ? say('lots.cell2') : say('lots.cells2'),
              availableCells: counts.availableCells,
            })}{' '}
            <Link to={`/tests?lotId=${lot.id}`}>
              {counts.tests} {counts.tests === 1 ? say('lots.test2') : say('lots.tests2')}
            </Link>
            {counts.pairings > 0 && (
              <>
                {' '}
                ·{' '}
                <Link to="/pairings">
                  {counts.pairings} {counts.pairings === 1 ? say('lots.pairing') : say('lots.pairings2')}
                </Link>
              </>
            )}
            {' · '}
            <Link to={`/ageing?lotId=${lot.id}`}>{say('lots.ageing')}</Link>
            {lot.note !== '' && <p>{lot.note}</p>}
          </>
        }
      />
      {editing && <EditLot lot={lot} onDone={() => setEditing(false)} />}
    </>
  );
}
