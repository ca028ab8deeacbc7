import { Button, NativeSelect } from '@mantine/core';
import type { Column } from '@tanstack/react-table';
import { NumberField } from '../parts/NumberField.tsx';
import { say } from '../words/i18n.ts';
import { type NumberRange, rangeText } from './numberRange.ts';

interface RangeFilterProps<T extends object> {
  readonly columns: readonly Column<T>[];
  readonly range: NumberRange | null;
  readonly onChange: (text: string) => void;
}

/** Keeps the rows whose number in one column lies within two bounds. */
export function RangeFilter<T extends object>({ columns, range, onChange }: RangeFilterProps<T>) {
  const numeric = columns.filter((c) => c.columnDef.meta?.numeric === true);
  if (numeric.length === 0) return null;
  const now = range ?? { column: numeric[0].id, min: null, max: null };
  const set = (change: Partial<NumberRange>) => onChange(rangeText({ ...now, ...change }));
  return (
    <details className="range-filter" open={range !== null}>
      <summary>{say('general.filterByNumber')}</summary>
      <div className="sheet-tools">
        <NativeSelect
          size="xs"
          label={say('general.column')}
          value={now.column}
          data={numeric.map((c) => ({
            value: c.id,
            label: typeof c.columnDef.header === 'string' ? c.columnDef.header : c.id,
          }))}
          onChange={(e) => set({ column: e.currentTarget.value })}
        />
        <NumberField
          size="xs"
          signed
          label={say('general.from')}
          value={now.min}
          onChange={(min) => set({ min })}
        />
        <NumberField
          size="xs"
          signed
          label={say('general.to')}
          value={now.max}
          onChange={(max) => set({ max })}
        />
        {range !== null && (
          <Button size="compact-xs" variant="subtle" onClick={() => onChange('')}>
            {say('general.noNumberFilter')}
          </Button>
        )}
      </div>
    </details>
  );
}
