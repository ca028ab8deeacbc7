import { Button } from '@mantine/core';
import { useState } from 'react';
import { api } from '../../api/ApiClient.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { whole } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { RefusalText } from './RefusalText.tsx';

/** What was imported or refused before, with the way to take an import back. */
export function EarlierImports() {
  const [open, setOpen] = useState(false);
  const imports = useRequest('/imports', { query: { limit: 100 } });
  if (imports.data !== undefined && imports.data.items.length === 0) return null;
  return (
    <>
      <h2>Earlier imports</h2>
      <Problem error={imports.error} again={imports.again} />
      {imports.data !== undefined && (
        <>
          <Sheet
            label="Earlier imports"
            head={['File', 'State', 'Take back', 'Rows', 'When', 'By']}
            numeric={[3]}
            rows={imports.data.items
              .slice(0, open ? 100 : 10)
              .map((i) => [
                i.fileName,
                i.refusal === null ? i.state : <RefusalText key="refusal" refusal={i.refusal} />,
                i.state === 'taken' && i.sourceFileId !== null ? (
                  <TakeBack key="undo" id={i.sourceFileId} name={i.fileName} />
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
              {open ? 'Only the newest' : `All ${imports.data.items.length}`}
            </Button>
          )}
        </>
      )}
    </>
  );
}

function TakeBack({ id, name }: { id: number; name: string }) {
  const undo = useAction(() => api.post('/imports/{id}/undo', { params: { id } }), ['/']);
  return (
    <>
      <Button
        size="compact-xs"
        variant="default"
        loading={undo.running}
        aria-label={`Undo the import of ${name}`}
        onClick={() => undo.run(undefined)}
      >
        Undo
      </Button>
      <Problem error={undo.error} />
    </>
  );
}
