import { type Column, flexRender, type Row, type RowData, type Table } from '@tanstack/react-table';
import { useVirtualizer } from '@tanstack/react-virtual';
import { type ReactNode, useCallback, useMemo, useRef } from 'react';
import { useNavigate } from 'react-router';
import { MoreSideways } from '../parts/MoreSideways.tsx';
import { useSideways } from '../parts/useSideways.ts';
import { useFinger } from '../settings/useFinger.ts';
import { say } from '../words/i18n.ts';
import { BodyRow, staysWhen } from './BodyRow.tsx';
import type { DataTableProps } from './dataTableProps.ts';
import { followRowLink } from './RowLink.tsx';
import { useRowKeys } from './useRowKeys.ts';

interface RowsSheetProps<T extends object> extends DataTableProps<T> {
  readonly table: Table<T>;
  readonly shown: readonly Row<T>[];
}

/** Rows beyond the edge that are drawn ahead. */
const overscan = 4;

/** The scrolling part of a table: only the rows in sight are in the page. */
export function RowsSheet<T extends object>(props: RowsSheetProps<T>) {
  const { table, shown, chosen, onChosen } = props;
  const scroll = useRef<HTMLElement>(null);
  const go = useNavigate();
  const rowHeight = useFinger() ? 44 : 36;
  const virtual = useVirtualizer({
    count: shown.length,
    getScrollElement: () => scroll.current,
    estimateSize: () => rowHeight,
    overscan,
  });
  useSideways(scroll);
  const head = table.getHeaderGroups()[0].headers;
  const choosing = chosen !== undefined && onChosen !== undefined;
  const width = head.reduce((sum, h) => sum + h.getSize(), choosing ? 44 : 0);
  const most = props.height ?? 560;
  const natural = 70 + Math.max(1, shown.length) * rowHeight;
  // As many places for rows as can be in sight at once; a row that comes in takes the place of one that has gone.
  const places = Math.ceil(most / rowHeight) + 2 * overscan + 2;
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
    <>
      <section
        ref={scroll}
        className="sheet"
        style={{ height: `min(${Math.min(most, natural)}px, 65svh)` }}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard
        tabIndex={0}
        aria-label={props.label}
      >
        <table aria-rowcount={shown.length + 1} style={{ width, minWidth: '100%' }}>
          <thead>
            <tr>
              {choosing && (
                <th scope="col" style={{ width: 44 }} data-stays="">
                  <label className="choose">
                    <input
                      type="checkbox"
                      aria-label={say('general.chooseAllShown')}
                      checked={all}
                      onChange={chooseAll}
                    />
                  </label>
                </th>
              )}
              {head.map((h, place) => (
                <HeadCell key={h.id} column={h.column} stays={staysWhen(place, choosing)}>
                  {flexRender(h.column.columnDef.header, h.getContext())}
                </HeadCell>
              ))}
            </tr>
          </thead>
          <tbody
            onClick={(e) => followRowLink(e, go)}
            onKeyDown={rowKeys.onKeyDown}
            onFocus={rowKeys.onFocus}
          >
            <Spacer height={before} />
            {items.map((item) => (
              <BodyRow
                key={item.index % places}
                height={rowHeight}
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
      <MoreSideways />
    </>
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

interface HeadCellProps<T extends object> {
  readonly column: Column<T>;
  readonly stays: string | undefined;
  readonly children: ReactNode;
}

function HeadCell<T extends object>({ column, stays, children }: HeadCellProps<T>) {
  const sorted = column.getIsSorted();
  return (
    <th
      scope="col"
      style={{ width: column.getSize() }}
      data-stays={stays}
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
