import { Button, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
import { api } from '../../api/ApiClient.ts';
import type { At, Given } from '../../api/endpointTypes.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { namesOf } from './namesOf.ts';

type Swap = Given<At<'POST', '/pairings/{id}/swap'>>['body'];

/**
 * Exchanges partners between two pairs, or chosen cells between two groups; refused where the new ones would break a hard
 * limit.
 */
export function SwapForm({ pair, pairing }: { pair: StoredPair; pairing: StoredPairing }) {
  const [open, setOpen] = useState(false);
  const others = pairing.pairs.filter((p) => p.id !== pair.id && p.stackId === null);
  const group = pair.cells.length > 2;
  const [ownId, setOwnId] = useState(String(pair.cells[0].id));
  const [withId, setWithId] = useState('');
  const tell = useNotice();
  const swap = useAction(
    ({ body, version }: { body: Swap; version: number }) =>
      api.post('/pairings/{id}/swap', { params: { id: pairing.id }, body, version }),
    ['/pairings'],
    ({ version }, { body }) => {
      setOpen(false);
      // Exchanging the same two places again goes back; the cells have changed theirs.
      const back = { ...body, cellId: body.withCellId, withCellId: body.cellId };
      tell({
        text: say('pairings.thePartnersAreExchanged'),
        undo: () => swap.runAndWait({ body: back, version }),
      });
    },
  );
  if (others.length === 0) return null;
  if (!open) {
    return (
      <Button size="compact-xs" variant="subtle" onClick={() => setOpen(true)}>
        {say('pairings.exchange')}
      </Button>
    );
  }
  const [withPairId, withCellId] = withId.split('/').map(Number);
  const body: Swap = group
    ? { pairId: pair.id, withPairId, cellId: Number(ownId), withCellId }
    : { pairId: pair.id, withPairId };
  return (
    <>
      {group && (
        <NativeSelect
          size="xs"
          aria-label={say('groups.exchangeCell')}
          value={ownId}
          data={pair.cells.map((c) => ({ value: String(c.id), label: c.serial }))}
          onChange={(e) => setOwnId(e.currentTarget.value)}
        />
      )}
      <NativeSelect
        size="xs"
        aria-label={group ? say('groups.exchangeWithCell') : say('pairings.exchangePartnersWith')}
        value={withId}
        data={[
          { value: '', label: say('pairings.with2') },
          ...others.flatMap((p) =>
            group
              ? p.cells.map((c) => ({
                  value: `${p.id}/${c.id}`,
                  label: say('groups.cellOfGroup', { serial: c.serial, names: namesOf(p) }),
                }))
              : [{ value: String(p.id), label: namesOf(p) }],
          ),
        ]}
        onChange={(e) => setWithId(e.currentTarget.value)}
      />
      <Button
        size="compact-xs"
        disabled={withId === ''}
        loading={swap.running}
        onClick={() => swap.run({ body, version: pairing.version })}
      >
        {say('pairings.exchange2')}
      </Button>
      <Problem error={swap.error} />
    </>
  );
}
