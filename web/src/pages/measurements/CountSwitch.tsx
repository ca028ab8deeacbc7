import { Button, Group, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { Measurement } from '../../../../server/contract/measurements.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { quantityTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';

/** Lets a value count that was marked as one that cannot be, or leaves one out with a reason; each can be undone at once. */
export function CountSwitch({ measured: m }: { readonly measured: Measurement }) {
  const [reason, setReason] = useState<string | null>(null);
  const tell = useNotice();
  const stale = [`/cells/${m.cellId}`, `/measurements/${m.id}`, '/lots', '/cells'] as const;
  const put = (excludedReason: string | null) =>
    api.patch('/measurements/{id}', { params: { id: m.id }, body: { excludedReason } });
  const back = useAction((before: string | null) => put(before), stale);
  const change = useAction(put, stale, (changed) => {
    setReason(null);
    tell({
      text: `${quantityTitle(changed)} ${changed.excludedReason === null ? say('measurements.countsAgain') : say('measurements.isLeftOut')}.`,
      undo: () => back.runAndWait(m.excludedReason),
    });
  });
  if (reason !== null)
    return (
      <form
        onSubmit={(e) => {
          e.preventDefault();
          change.run(reason.trim());
        }}
      >
        <Group align="end" gap="xs">
          <TextInput
            size="xs"
            label={say('measurements.whyIsItLeftOut')}
            required
            data-autofocus
            value={reason}
            onChange={(e) => setReason(e.currentTarget.value)}
          />
          <Button size="compact-xs" type="submit" loading={change.running} disabled={reason.trim() === ''}>
            {say('measurements.leaveOut')}
          </Button>
          <Button size="compact-xs" variant="default" onClick={() => setReason(null)}>
            {say('measurements.cancel')}
          </Button>
        </Group>
        <Problem error={change.error} />
      </form>
    );
  return (
    <>
      {m.excludedReason === null ? (
        <Button
          size="compact-xs"
          variant="default"
          aria-label={say('measurements.leaveOutM', { m: quantityTitle(m) })}
          onClick={() => setReason('')}
        >
          {say('measurements.leaveOut2')}
        </Button>
      ) : (
        <>
          {say('measurements.noExcludedReason', { excludedReason: reasonSentence(m.excludedReason) })}{' '}
          <Button
            size="compact-xs"
            variant="default"
            aria-label={say('measurements.letItCountM', { m: quantityTitle(m) })}
            loading={change.running}
            onClick={() => change.run(null)}
          >
            {say('measurements.letItCount')}
          </Button>
        </>
      )}
      <Problem error={change.error ?? back.error} />
    </>
  );
}
