import { Textarea } from '@mantine/core';
import { useEffect, useMemo, useState } from 'react';
import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { say } from '../../words/i18n.ts';
import { readStressTable, type StressTable } from './stressTable.ts';

/** Takes the conditions each cell was cycled at, as a pasted table, and tells the form what was understood. */
export function StressInput({ lotId, onChange }: { lotId: number; onChange: (table: StressTable) => void }) {
  const [open, setOpen] = useState(false);
  const [text, setText] = useState('');
  const cells = useRequest(open ? '/lots/{id}/cells' : null, {
    params: { id: lotId },
    query: { limit: 5000, columns: [] },
  });
  const idOfSerial = useMemo(
    () => new Map(cells.data?.items.map((c) => [c.serial, c.id]) ?? []),
    [cells.data],
  );
  const table = useMemo(() => readStressTable(text, idOfSerial), [text, idOfSerial]);
  useEffect(() => onChange(table), [table, onChange]);
  return (
    <details open={open} onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{say('ageing.conditionsOfTheCyclingToSee')}</summary>
      <Textarea
        size="xs"
        label={say('ageing.conditionsOfEachCell')}
        description={say('ageing.pasteATableTheFirstRow')}
        placeholder={say('ageing.cellTemperatureCChargeRateC')}
        autosize
        minRows={4}
        maxRows={16}
        value={text}
        onChange={(e) => setText(e.currentTarget.value)}
      />
      <Problem error={cells.error} again={cells.again} />
      {cells.data !== undefined &&
        table.problems.slice(0, 5).map((problem) => (
          <p key={problem} className="problem">
            {problem}
          </p>
        ))}
      {table.settings !== null && (
        <p role="status">
          {say('ageing.cellsCellsWithTerms', {
            cells: table.settings.cells.length,
            terms: table.settings.terms.map((t) => t.name).join(', '),
          })}
        </p>
      )}
    </details>
  );
}
