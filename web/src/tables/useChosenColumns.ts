import type { ColumnDef, VisibilityState } from '@tanstack/react-table';
import { useMemo } from 'react';
import { storedSetting, useStored } from '../settings/stored.ts';

const settings = new Map<string, ReturnType<typeof columnSetting>>();

function columnSetting(name: string) {
  return storedSetting<VisibilityState>(`gemel-columns-${name}`, (stored) =>
    typeof stored === 'object' && stored !== null
      ? Object.fromEntries(
          Object.entries(stored).filter((e): e is [string, boolean] => typeof e[1] === 'boolean'),
        )
      : {},
  );
}

/** Which columns of a table this reader has chosen; a column nobody chose about is shown unless it says otherwise. */
export function useChosenColumns<T extends object>(
  name: string,
  columns: readonly ColumnDef<T>[],
): [VisibilityState, (visible: VisibilityState) => void] {
  const setting = settings.get(name) ?? columnSetting(name);
  settings.set(name, setting);
  const [stored, write] = useStored(setting);
  const visible = useMemo(() => {
    const hidden = columns.filter((c) => c.meta?.hidden === true && c.id !== undefined);
    return { ...Object.fromEntries(hidden.map((c) => [c.id as string, false])), ...stored };
  }, [columns, stored]);
  return [visible, write];
}
