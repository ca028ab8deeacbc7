import { Group, TextInput } from '@mantine/core';
import {
  type ColumnDef,
  getCoreRowModel,
  getFilteredRowModel,
  getSortedRowModel,
  type Row,
  type RowData,
  type SortingState,
  type Table,
  type Updater,
  useReactTable,
} from '@tanstack/react-table';
import { useMemo } from 'react';
import { whole } from '../format/number.ts';
import { useUrlState } from '../parts/useUrlState.ts';
import { say } from '../words/i18n.ts';
import { ColumnMenu } from './ColumnMenu.tsx';
import type { DataTableProps } from './dataTableProps.ts';
import { isWithin, type NumberRange, rangeOfText } from './numberRange.ts';
import { RangeFilter } from './RangeFilter.tsx';
import { RowsSheet } from './RowsSheet.tsx';
import { sortingOf, sortingText } from './sorting.ts';
import { TableTools } from './TableTools.tsx';
import type { TableRows } from './tableFile.ts';
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
  const [rangeIn, setRange] = useUrlState(`${name}Range`);
  const range = useMemo(() => rangeOfText(rangeIn), [rangeIn]);
  const [visible, setVisible] = useChosenColumns(name, columns);
  const sorting = useMemo((): SortingState => sortingOf(sort), [sort]);
  // Both must stay the same from one drawing to the next, or the table filters again without end.
  const columnFilters = useMemo(() => (range === null ? [] : [{ id: range.column, value: range }]), [range]);
  const defaultColumn = useMemo(() => ({ filterFn: withinRange<T> }), []);
  const table = useReactTable<T>({
    data: rows as T[],
    columns: columns as ColumnDef<T>[],
    state: {
      sorting,
      globalFilter: filter,
      columnFilters,
      columnVisibility: visible,
    },
    defaultColumn,
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
          label={props.filterLabel ?? say('general.filter')}
          value={filter}
          onChange={(e) => setFilter(e.currentTarget.value)}
        />
        <RangeFilter columns={table.getAllLeafColumns()} range={range} onChange={setRange} />
        <ColumnMenu columns={table.getAllLeafColumns()} onChange={setVisible} />
        <span role="status">
          {shown.length === rows.length
            ? `${whole(rows.length)} ${rows.length === 1 ? say('general.row') : say('general.rows')}`
            : say('general.shownOfRowsRows', { shown: whole(shown.length), rows: whole(rows.length) })}
        </span>
        <TableTools label={props.label} rows={() => allRows(table)} />
      </Group>
      <RowsSheet {...props} table={table} shown={shown} />
    </div>
  );
}

function withinRange<T>(row: Row<T>, id: string, wanted: NumberRange): boolean {
  return isWithin(row.getValue(id), wanted);
}

/** Every row that passes the filters, in its order, with the values behind what is drawn. */
function allRows<T extends object>(table: Table<T>): TableRows {
  const columns = table.getVisibleLeafColumns();
  const head = columns.map((c) => (typeof c.columnDef.header === 'string' ? c.columnDef.header : c.id));
  const value = (of: unknown) =>
    typeof of === 'number' ? Number(of.toPrecision(12)) : of === null || of === undefined ? null : String(of);
  return [head, ...table.getRowModel().rows.map((row) => columns.map((c) => value(row.getValue(c.id))))];
}
