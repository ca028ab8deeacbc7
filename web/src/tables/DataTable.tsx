import { Button, Checkbox, Group, Menu, TextInput } from '@mantine/core';
import {
  type Column,
  type ColumnDef,
  flexRender,
  getCoreRowModel,
  getFilteredRowModel,
  getSortedRowModel,
  type Row,
  type RowData,
  type SortingState,
  type Updater,
  useReactTable,
} from '@tanstack/react-table';
import { useVirtualizer } from '@tanstack/react-virtual';
import { memo, useCallback, useEffect, useMemo, useRef } from 'react';
import { whole } from '../format/number.ts';
import { useUrlState } from '../parts/useUrlState.ts';
import { sortingOf, sortingText } from './sorting.ts';
import { useChosenColumns } from './useChosenColumns.ts';
import { stopsIn, useRowKeys } from './useRowKeys.ts';

declare module '@tanstack/react-table' {
  interface ColumnMeta<TData extends RowData, TValue> {
    readonly numeric?: boolean;
    /** Plain name for the list of columns. */
    readonly name?: string;
    /** Not shown until chosen. */
    readonly hidden?: boolean;
  }
}

export interface DataTableProps<T extends object> {
  /** Names the table in the address and in what is remembered. */
  readonly name: string;
  /** What the table holds, for readers that do not see it. */
  readonly label: string;
  readonly rows: readonly T[];
  readonly columns: readonly ColumnDef<T>[];
  readonly rowId: (row: T) => string;
  readonly height?: number;
  readonly chosen?: ReadonlySet<string>;
  readonly onChosen?: (chosen: ReadonlySet<string>) => void;
  /** Searched by the filter beside the values of the columns. */
  readonly firstSort?: string;
  readonly filterLabel?: string;
}

const rowHeight = 36;

/**
 * A table of up to some thousands of rows: only the visible ones are in the page. Sorting and filter live in the
 * address, the choice of columns in this browser.
 */
export function DataTable<T extends object>(props: DataTableProps<T>) {
  const { rows, columns, name } = props;
  const [sort, setSort] = useUrlState(`${name}Sort`, props.firstSort ?? '');
  const [filter, setFilter] = useUrlState(`${name}Filter`);
  const [visible, setVisible] = useChosenColumns(name, columns);
  const sorting = useMemo((): SortingState => sortingOf(sort), [sort]);
  const table = useReactTable<T>({
    data: rows as T[],
    columns: columns as ColumnDef<T>[],
    state: { sorting, globalFilter: filter, columnVisibility: visible },
    getRowId: props.rowId,
    onSortingChange: (update: Updater<SortingState>) =>
      setSort(sortingText(typeof update === 'function' ? update(sorting) : update)),
    globalFilterFn: 'includesString',
    getCoreRowModel: getCoreRowModel(),
    getSortedRowModel: getSortedRowModel(),
    getFilteredRowModel: getFilteredRowModel(),
  });
  const shown = table.getRowModel().rows;
  return (
    <div>
      <Group className="sheet-tools">
        <TextInput
          className="grows"
          size="xs"
          label={props.filterLabel ?? 'Filter'}
          value={filter}
          onChange={(e) => setFilter(e.currentTarget.value)}
        />
        <ColumnMenu columns={table.getAllLeafColumns()} onChange={setVisible} />
        <span role="status">
          {shown.length === rows.length
            ? `${whole(rows.length)} rows`
            : `${whole(shown.length)} of ${whole(rows.length)} rows`}
        </span>
      </Group>
      <Sheet {...props} table={table} shown={shown} />
    </div>
  );
}

function Sheet<T extends object>(
  props: DataTableProps<T> & { table: ReturnType<typeof useReactTable<T>>; shown: Row<T>[] },
) {
  const { table, shown, chosen, onChosen } = props;
  const scroll = useRef<HTMLElement>(null);
  const virtual = useVirtualizer({
    count: shown.length,
    getScrollElement: () => scroll.current,
    estimateSize: () => rowHeight,
    overscan: 4,
  });
  const head = table.getHeaderGroups()[0].headers;
  const choosing = chosen !== undefined && onChosen !== undefined;
  const width = head.reduce((sum, h) => sum + h.getSize(), choosing ? 44 : 0);
  const height = Math.min(props.height ?? 560, 70 + Math.max(1, shown.length) * rowHeight);
  const all = useMemo(
    () => chosen !== undefined && shown.length > 0 && shown.every((r) => chosen.has(r.id)),
    [chosen, shown],
  );
  const chooseAll = () => {
    const next = new Set(chosen);
    for (const r of shown) {
      if (all) next.delete(r.id);
      else next.add(r.id);
    }
    onChosen?.(next);
  };
  const latest = useRef({ chosen, onChosen });
  latest.current = { chosen, onChosen };
  // One function for all rows and all renders, so that a row that stays in view is not drawn again while scrolling.
  const choose = useCallback((id: string) => {
    const next = new Set(latest.current.chosen);
    if (!next.delete(id)) next.add(id);
    latest.current.onChosen?.(next);
  }, []);
  const rowKeys = useRowKeys(scroll, shown.length, (index) => virtual.scrollToIndex(index));
  const items = virtual.getVirtualItems();
  const before = items.length === 0 ? 0 : items[0].start;
  const after = items.length === 0 ? 0 : virtual.getTotalSize() - items[items.length - 1].end;
  return (
    <section
      ref={scroll}
      className="sheet"
      style={{ height }}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard
      tabIndex={0}
      aria-label={props.label}
    >
      <table aria-rowcount={shown.length + 1} style={{ width, minWidth: '100%' }}>
        <thead>
          <tr>
            {choosing && (
              <th scope="col" style={{ width: 44 }}>
                <Checkbox size="xs" aria-label="Choose all shown" checked={all} onChange={chooseAll} />
              </th>
            )}
            {head.map((h) => (
              <HeadCell key={h.id} column={h.column}>
                {flexRender(h.column.columnDef.header, h.getContext())}
              </HeadCell>
            ))}
          </tr>
        </thead>
        <tbody onKeyDown={rowKeys.onKeyDown} onFocus={rowKeys.onFocus}>
          <Spacer height={before} />
          {items.map((item) => (
            <BodyRow
              key={shown[item.index].id}
              row={shown[item.index] as Row<RowData>}
              columns={head.length}
              definition={props.columns}
              index={item.index}
              active={item.index === rowKeys.active}
              chosen={chosen?.has(shown[item.index].id)}
              onChoose={choosing ? choose : undefined}
            />
          ))}
          <Spacer height={after} />
        </tbody>
      </table>
    </section>
  );
}

/** Stands for the rows above or below the visible ones. */
function Spacer({ height }: { height: number }) {
  return height <= 0 ? null : (
    <tr>
      <td style={{ height, padding: 0, border: 0 }} />
    </tr>
  );
}

function HeadCell<T extends object>({ column, children }: { column: Column<T>; children: React.ReactNode }) {
  const sorted = column.getIsSorted();
  return (
    <th
      scope="col"
      style={{ width: column.getSize() }}
      className={column.columnDef.meta?.numeric ? 'number' : undefined}
      aria-sort={sorted === 'asc' ? 'ascending' : sorted === 'desc' ? 'descending' : undefined}
    >
      {column.getCanSort() ? (
        <button type="button" onClick={column.getToggleSortingHandler()}>
          {children} {sorted === 'asc' ? '↑' : sorted === 'desc' ? '↓' : ''}
        </button>
      ) : (
        children
      )}
    </th>
  );
}

interface BodyRowProps {
  readonly row: Row<RowData>;
  readonly index: number;
  /** Count of visible columns: a change draws the row again. */
  readonly columns: number;
  /** How cells are drawn: another unit draws the row again. */
  readonly definition: unknown;
  /** Whether Tab stops in this row; the others are reached with the arrow keys. */
  readonly active: boolean;
  readonly chosen: boolean | undefined;
  readonly onChoose: ((id: string) => void) | undefined;
}

const BodyRow = memo(function BodyRow({ row, index, active, chosen, onChoose }: BodyRowProps) {
  const line = useRef<HTMLTableRowElement>(null);
  useEffect(() => {
    for (const stop of stopsIn(line.current)) stop.tabIndex = active ? 0 : -1;
  });
  return (
    <tr ref={line} aria-rowindex={index + 2} data-chosen={chosen || undefined} style={{ height: rowHeight }}>
      {onChoose !== undefined && (
        <td>
          <input
            type="checkbox"
            aria-label={`Choose row ${index + 1}`}
            checked={chosen === true}
            onChange={() => onChoose(row.id)}
          />
        </td>
      )}
      {row.getVisibleCells().map((cell) => (
        <td key={cell.id} className={cell.column.columnDef.meta?.numeric ? 'number' : undefined}>
          {flexRender(cell.column.columnDef.cell, cell.getContext())}
        </td>
      ))}
    </tr>
  );
});

interface ColumnMenuProps<T extends object> {
  readonly columns: readonly Column<T>[];
  readonly onChange: (visible: Record<string, boolean>) => void;
}

function ColumnMenu<T extends object>({ columns, onChange }: ColumnMenuProps<T>) {
  const state = Object.fromEntries(columns.map((c) => [c.id, c.getIsVisible()]));
  return (
    <Menu closeOnItemClick={false} position="bottom-end">
      <Menu.Target>
        <Button size="xs" variant="default">
          Columns
        </Button>
      </Menu.Target>
      <Menu.Dropdown mah={420} style={{ overflowY: 'auto' }}>
        {columns.map((c) => (
          <Menu.Item
            key={c.id}
            role="menuitemcheckbox"
            aria-checked={c.getIsVisible()}
            disabled={!c.getCanHide()}
            onClick={() => onChange({ ...state, [c.id]: !c.getIsVisible() })}
          >
            {c.getIsVisible() ? '✓ ' : '  '}
            {c.columnDef.meta?.name ?? (typeof c.columnDef.header === 'string' ? c.columnDef.header : c.id)}
          </Menu.Item>
        ))}
      </Menu.Dropdown>
    </Menu>
  );
}
