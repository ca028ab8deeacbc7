import { Button } from '@mantine/core';
import { useRef } from 'react';
import { columnMapFile } from '../../../../server/contract/columnMaps.ts';
import { api } from '../../api/ApiClient.ts';
import { RefusedError } from '../../api/problems.ts';
import { useAction } from '../../api/useAction.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { downloadText } from '../../parts/download.ts';
import { useNotice } from '../../parts/Notices.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { Sheet } from '../../parts/Sheet.tsx';
import { say } from '../../words/i18n.ts';

/** The saved column maps: to a file for another installation, from such a file, and removed. */
export function ColumnMaps() {
  const chooser = useRef<HTMLInputElement>(null);
  const tell = useNotice();
  const kept = useRequest('/column-maps');
  const maps = kept.data?.items ?? [];
  const save = useAction(
    () => api.get('/column-maps/file'),
    [],
    (file) => downloadText('column-maps.json', 'application/json', `${JSON.stringify(file, null, 2)}\n`),
  );
  const take = useAction(
    async (file: File) => api.post('/column-maps/file', { body: await readMaps(file) }),
    ['/column-maps'],
    ({ items }) => tell({ text: say('import.columnMapsTaken', { count: items.length }) }),
  );
  const forget = useAction(
    (id: number) => api.delete('/column-maps/{id}', { params: { id } }),
    ['/column-maps'],
  );
  return (
    <details>
      <summary>{say('import.savedColumnMaps', { count: maps.length })}</summary>
      <p className="help">{say('import.aColumnMapIsProposed')}</p>
      {maps.length > 0 && (
        <Sheet
          label={say('import.savedColumnMapsLabel')}
          head={[say('import.nameOfTheMap'), say('import.lastUsed'), say('import.remove')]}
          rows={maps.map((map) => [
            map.name,
            instant(map.lastUsedAt),
            <Button
              key="forget"
              size="compact-xs"
              variant="default"
              aria-label={say('import.forgetColumnMap', { name: map.name })}
              loading={forget.running}
              onClick={() => forget.run(map.id)}
            >
              {say('import.forget')}
            </Button>,
          ])}
        />
      )}
      <div className="actions">
        <Button
          size="xs"
          variant="default"
          disabled={maps.length === 0}
          loading={save.running}
          onClick={() => save.run(undefined)}
        >
          {say('import.saveColumnMapsToAFile')}
        </Button>
        <Button size="xs" variant="default" loading={take.running} onClick={() => chooser.current?.click()}>
          {say('import.takeColumnMapsFromAFile')}
        </Button>
        <input
          ref={chooser}
          type="file"
          accept=".json,application/json"
          hidden
          aria-label={say('import.fileWithColumnMaps')}
          onChange={(e) => {
            const file = e.currentTarget.files?.[0];
            e.currentTarget.value = '';
            if (file !== undefined) take.run(file);
          }}
        />
      </div>
      <Problem error={kept.error ?? save.error ?? take.error ?? forget.error} />
    </details>
  );
}

/** The maps of a file. @throws RefusedError for a file that holds anything else */
async function readMaps(file: File) {
  const text = await file.text();
  const parsed = columnMapFile.safeParse(jsonOf(text));
  if (parsed.success) return parsed.data;
  const [issue] = parsed.error.issues;
  throw new RefusedError({
    type: 'about:blank',
    title: say('import.fileHoldsNoColumnMaps', { name: file.name }),
    status: 400,
    detail: [issue.path.join('.'), issue.message].filter((part) => part !== '').join(': '),
    code: 'invalid-request',
  });
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
