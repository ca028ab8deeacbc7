import { Button } from '@mantine/core';
import { useState } from 'react';
import { useRequest } from '../../api/useRequest.ts';
import { whole } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { Unreadable } from '../../parts/Unreadable.tsx';
import { say } from '../../words/i18n.ts';
import { importWords } from '../../words/imports.ts';
import { RefusalText } from './RefusalText.tsx';
import { RestoreImport, UndoImport } from './UndoImport.tsx';

/** What was imported or refused before, with the way to take an import back. */
export function EarlierImports() {
  const [open, setOpen] = useState(false);
  const imports = useRequest('/imports', { query: { limit: 100 } });
  if (imports.data !== undefined && imports.data.items.length === 0) return null;
  return (
    <>
      <h2>{say('import.earlierImports')}</h2>
      <Problem error={imports.error} again={imports.again} />
      <Unreadable list={imports.data} />
      {imports.data !== undefined && (
        <>
          <Sheet
            label={say('import.earlierImports')}
            head={[
              say('import.file'),
              say('import.state'),
              say('import.undo'),
              say('import.rows'),
              say('import.when'),
              say('import.by'),
            ]}
            numeric={[3]}
            rows={imports.data.items
              .slice(0, open ? 100 : 10)
              .map((i) => [
                i.fileName,
                i.refusal === null ? importWords[i.state] : <RefusalText key="refusal" refusal={i.refusal} />,
                i.state === 'taken' && i.sourceFileId !== null ? (
                  <UndoImport key="undo" id={i.sourceFileId} name={i.fileName} />
                ) : i.state === 'undone' && i.sourceFileId !== null ? (
                  <RestoreImport key="restore" id={i.sourceFileId} name={i.fileName} />
                ) : (
                  ''
                ),
                i.state === 'refused' ? '–' : whole(i.rowCount),
                instant(i.importedAt),
                i.importedBy,
              ])}
          />
          {imports.data.items.length > 10 && (
            <Button size="xs" variant="default" onClick={() => setOpen(!open)}>
              {open
                ? say('import.onlyTheNewest')
                : say('import.allItems', { items: imports.data.items.length })}
            </Button>
          )}
        </>
      )}
    </>
  );
}
