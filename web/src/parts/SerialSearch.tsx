import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';
import { useNavigate } from 'react-router';
import type { Stack } from '../../../server/contract/stacks.ts';
import { api } from '../api/ApiClient.ts';
import { useAction } from '../api/useAction.ts';
import { say } from '../words/i18n.ts';
import { Problem } from './Problem.tsx';

/** Opens a cell or a stack by its serial, typed or by a scanner that types it and presses Enter. */
export function SerialSearch() {
  const [serial, setSerial] = useState('');
  const go = useNavigate();
  const find = useAction(
    async (search: string) => {
      const { items } = await api.get('/cells', { query: { search, limit: 50 } });
      return { items, stack: await stackNamed(search) };
    },
    [],
    ({ items, stack }, search) => {
      if (stack !== null) {
        void go(`/stacks/${stack.id}`);
        return;
      }
      const exact = items.filter((c) => c.serial.toLowerCase() === search.toLowerCase());
      const found = exact.length === 1 ? exact : items;
      if (found.length === 1) void go(`/cells/${found[0].id}`);
      else if (found.length > 1) void go(`/cells?search=${encodeURIComponent(search)}`);
    },
  );
  return (
    <form
      className="sheet-tools"
      onSubmit={(e) => {
        e.preventDefault();
        if (serial.trim() !== '') find.run(serial.trim());
      }}
    >
      <TextInput
        label={say('general.serial')}
        description={say('general.typeItOrScanIt')}
        value={serial}
        onChange={(e) => setSerial(e.currentTarget.value)}
      />
      <Button type="submit" variant="default" loading={find.running}>
        {say('general.open')}
      </Button>
      {find.output?.items.length === 0 && find.output.stack === null && (
        <p role="status">{say('general.noCellHasThisSerial')}</p>
      )}
      <Problem error={find.error} />
    </form>
  );
}

/** The stack whose label this is; null where there is none. */
async function stackNamed(name: string): Promise<Stack | null> {
  const { items } = await api.get('/stacks', { query: { limit: 500 } });
  return items.find((stack) => stack.name.toLowerCase() === name.toLowerCase()) ?? null;
}
