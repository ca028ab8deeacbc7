import { TextInput } from '@mantine/core';
import { useState } from 'react';
import type { ImportOptions, ImportPreview } from '../../../../server/contract/import.ts';
import { say } from '../../words/i18n.ts';

interface FileSerialProps {
  readonly preview: ImportPreview;
  readonly options: ImportOptions;
  readonly onOptions: (options: ImportOptions) => void;
}

/** Asks which cell a file is of, where neither the file nor its name says so; taken when the field is left. */
export function FileSerial({ preview, options, onOptions }: FileSerialProps) {
  const [typed, setTyped] = useState(options.cell ?? '');
  const asks = preview.creates.tests > 0 || preview.creates.measurements > 0;
  if (!asks || (preview.creates.cells.length > 0 && options.cell === undefined)) return null;
  const take = (): void => {
    const cell = typed.trim();
    if (cell === (options.cell ?? '')) return;
    const { cell: _, ...rest } = options;
    onOptions(cell === '' ? rest : { ...rest, cell });
  };
  return (
    <TextInput
      size="xs"
      maw={320}
      label={say('import.serialOfTheCellOfThis')}
      value={typed}
      onChange={(e) => setTyped(e.currentTarget.value)}
      onBlur={take}
      onKeyDown={(e) => {
        if (e.key === 'Enter') take();
      }}
    />
  );
}
