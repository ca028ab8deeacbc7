import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { readingOptions } from '../../../../server/contract/readingOptions.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';

/** Keeps the columns, units and sign of one file under a name; files with the same header are then read like it. */
export function KeepReading({ preview, options }: { preview: ImportPreview; options: ImportOptions }) {
  const [name, setName] = useState('');
  const tell = useNotice();
  const reading = readingOptions.parse(
    Object.fromEntries(Object.entries(options).filter(([key]) => key in readingOptions.shape)),
  );
  const keep = useAction(
    () =>
      api.post('/column-maps', {
        body: {
          name: name.trim(),
          header: preview.header,
          reading,
        },
      }),
    ['/column-maps'],
    ({ id }) =>
      tell({
        text: say('import.filesWithThisHeaderWillBe', { name: name.trim() }),
        undo: () => api.delete('/column-maps/{id}', { params: { id } }),
      }),
  );
  if (Object.values(reading).every((one) => one === undefined)) return null;
  return (
    <div className="sheet-tools">
      <TextInput
        size="xs"
        label={say('import.saveTheseSettingsAs')}
        placeholder={say('import.name')}
        value={name}
        onChange={(e) => setName(e.currentTarget.value)}
      />
      <Button
        size="xs"
        variant="default"
        disabled={name.trim() === ''}
        loading={keep.running}
        onClick={() => keep.run(undefined)}
      >
        {say('import.keep')}
      </Button>
      <Problem error={keep.error} />
    </div>
  );
}
