import { Button, NativeSelect } from '@mantine/core';
import { useState } from 'react';
import type { StoredPair, StoredPairing } from '../../../../server/contract/pairings.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';

/** Exchanges partners between two pairs; refused where the new pairs would break a hard limit. */
export function SwapForm({ pair, pairing }: { pair: StoredPair; pairing: StoredPairing }) {
  const [open, setOpen] = useState(false);
  const others = pairing.pairs.filter((p) => p.id !== pair.id && p.stackId === null);
  const [withId, setWithId] = useState('');
  const tell = useNotice();
  const swap = useAction(
    ({ withPairId, version }: { withPairId: number; version: number }) =>
      api.post('/pairings/{id}/swap', {
        params: { id: pairing.id },
        body: { pairId: pair.id, withPairId },
        version,
      }),
    ['/pairings'],
    ({ version }, { withPairId }) => {
      setOpen(false);
      // Exchanging the same two pairs again goes back.
      tell({
        text: say('pairings.thePartnersAreExchanged'),
        undo: () => swap.runAndWait({ withPairId, version }),
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
  return (
    <>
      <NativeSelect
        size="xs"
        aria-label={say('pairings.exchangePartnersWith')}
        value={withId}
        data={[
          { value: '', label: say('pairings.with2') },
          ...others.map((p) => ({
            value: String(p.id),
            label: p.cells.map((c) => c.serial).join(say('pairings.with')),
          })),
        ]}
        onChange={(e) => setWithId(e.currentTarget.value)}
      />
      <Button
        size="compact-xs"
        disabled={withId === ''}
        loading={swap.running}
        onClick={() => swap.run({ withPairId: Number(withId), version: pairing.version })}
      >
        {say('pairings.exchange2')}
      </Button>
      <Problem error={swap.error} />
    </>
  );
}
