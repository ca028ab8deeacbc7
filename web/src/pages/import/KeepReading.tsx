import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';

/** Keeps the columns, units and sign of one file under a name; files with the same header are then read like it. */
export function KeepReading({ preview, options }: { preview: ImportPreview; options: ImportOptions }) {
  const [name, setName] = useState('');
  const tell = useNotice();
  const { columns, units, currentSign, imaginarySign } = options;
  const keep = useAction(
    () =>
      api.post('/column-maps', {
        body: {
          name: name.trim(),
          header: preview.header,
          reading: {
            ...(columns === undefined ? {} : { columns }),
            ...(units === undefined ? {} : { units }),
            ...(currentSign === undefined ? {} : { currentSign }),
            ...(imaginarySign === undefined ? {} : { imaginarySign }),
          },
        },
      }),
    ['/column-maps'],
    ({ id }) =>
      tell({
        text: `Files with this header will be read as “${name.trim()}”.`,
        undo: () => api.delete('/column-maps/{id}', { params: { id } }),
      }),
  );
  if ([columns, units, currentSign, imaginarySign].every((one) => one === undefined)) return null;
  return (
    <div className="sheet-tools">
      <TextInput
        size="xs"
        label="Keep this reading for the instrument"
        placeholder="name"
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
        Keep
      </Button>
      <Problem error={keep.error} />
    </div>
  );
}
