import { Button, Group, TextInput } from '@mantine/core';
import { useState } from 'react';
import { Link } from 'react-router';
import type { Cell, ChangeCell } from '../../../../server/contract/cells.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';

/** Sets a cell aside with a reason, or takes it back; each can be undone at once. */
export function CellActions({ cell }: { cell: Cell }) {
  const [asking, setAsking] = useState(false);
  const [reason, setReason] = useState('');
  const tell = useNotice();
  const path = `/cells/${cell.id}`;
  const change = useAction(
    (next: ChangeCell) =>
      api.patch('/cells/{id}', { params: { id: cell.id }, body: next, version: cell.version }),
    [path, '/lots', '/cells'],
    (changed) => {
      setAsking(false);
      setReason('');
      tell({
        text: say('cells.serialIsNowChangedState', {
          serial: changed.serial,
          changedState: plainCode(changed.state),
        }),
        undo: () => back.runAndWait(changed),
      });
    },
  );
  const back = useAction(
    (changed: Cell) =>
      api.patch('/cells/{id}', {
        params: { id: cell.id },
        body: { state: cell.state === 'in-stack' ? 'available' : cell.state, stateReason: cell.stateReason },
        version: changed.version,
      }),
    [path, '/lots', '/cells'],
  );
  if (asking) {
    return (
      <form
        onSubmit={(e) => {
          e.preventDefault();
          change.run({ state: 'set-aside', stateReason: reason.trim() });
        }}
      >
        <Group align="end" gap="xs">
          <TextInput
            label={say('cells.whyIsItSetAside')}
            required
            data-autofocus
            value={reason}
            onChange={(e) => setReason(e.currentTarget.value)}
          />
          <Button type="submit" loading={change.running} disabled={reason.trim() === ''}>
            {say('cells.setAside2')}
          </Button>
          <Button variant="default" onClick={() => setAsking(false)}>
            {say('cells.cancel')}
          </Button>
        </Group>
        <Problem error={change.error} />
      </form>
    );
  }
  return (
    <>
      {cell.state === 'available' && (
        <Button variant="default" onClick={() => setAsking(true)}>
          {say('cells.setAside3')}
        </Button>
      )}
      {(cell.state === 'set-aside' || cell.state === 'retired') && (
        <Button
          variant="default"
          loading={change.running}
          onClick={() => change.run({ state: 'available', stateReason: null })}
        >
          {say('cells.makeAvailableAgain')}
        </Button>
      )}
      <Button component={Link} variant="default" to={`/charge-studies/new?cells=${cell.id}`}>
        {say('cells.chargeStudy')}
      </Button>
      <Button
        component={Link}
        variant="default"
        to={`/exports?subjectKind=cell&subjectId=${cell.id}&new=yes`}
      >
        {say('cells.export')}
      </Button>
      <Problem error={change.error} />
    </>
  );
}
