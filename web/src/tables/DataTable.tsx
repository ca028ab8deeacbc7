import { Group, TextInput } from '@mantine/core';
import {
  type ColumnDef,
  getCoreRowModel,
  getFilteredRowModel,
  getSortedRowModel,
  type RowData,
  type SortingState,
  type Updater,
  useReactTable,
} from '@tanstack/react-table';
import { useMemo } from 'react';
import { whole } from '../format/number.ts';
import { useUrlState } from '../parts/useUrlState.ts';
import { ColumnMenu } from './ColumnMenu.tsx';
import type { DataTableProps } from './dataTableProps.ts';
import { RowsSheet } from './RowsSheet.tsx';
import { sortingOf, sortingText } from './sorting.ts';
import { useChosenColumns } from './useChosenColumns.ts';

declare module '@tanstack/react-table' {
  interface ColumnMeta<TData extends RowData, TValue> {
    readonly numeric?: boolean;
    /** Plain name for the list of columns. */
    readonly name?: string;
    /** Not shown until chosen. */
    readonly hidden?: boolean;
  }
}

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
            ? `${whole(rows.length)} ${rows.length === 1 ? 'row' : 'rows'}`
            : `${whole(shown.length)} of ${whole(rows.length)} rows`}
        </span>
      </Group>
      <RowsSheet {...props} table={table} shown={shown} />
    </div>
  );
}
