import { Button, Menu } from '@mantine/core';
import type { Column } from '@tanstack/react-table';
import { say } from '../words/i18n.ts';

interface ColumnMenuProps<T extends object> {
  readonly columns: readonly Column<T>[];
  readonly onChange: (visible: Record<string, boolean>) => void;
}

/** Which columns of a table are shown; the one that names the row always is. */
export function ColumnMenu<T extends object>({ columns, onChange }: ColumnMenuProps<T>) {
  const state = Object.fromEntries(columns.map((c) => [c.id, c.getIsVisible()]));
  return (
    <Menu closeOnItemClick={false} position="bottom-end" withInitialFocusPlaceholder={false}>
      <Menu.Target>
        <Button size="xs" variant="default">
          {say('general.columns')}
        </Button>
      </Menu.Target>
      <Menu.Dropdown mah="min(420px, 60vh)" style={{ overflowY: 'auto' }}>
        {columns.map((c) => (
          <Menu.CheckboxItem
            key={c.id}
            checked={c.getIsVisible()}
            disabled={!c.getCanHide()}
            onChange={() => onChange({ ...state, [c.id]: !c.getIsVisible() })}
          >
            {c.columnDef.meta?.name ?? (typeof c.columnDef.header === 'string' ? c.columnDef.header : c.id)}
          </Menu.CheckboxItem>
        ))}
      </Menu.Dropdown>
    </Menu>
  );
}
