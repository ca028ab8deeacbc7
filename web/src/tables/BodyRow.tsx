import type { Cell, Row, RowData } from '@tanstack/react-table';
import { memo, type ReactNode, useEffect, useLayoutEffect, useRef } from 'react';
import { say } from '../words/i18n.ts';
import { stopsIn } from './useRowKeys.ts';

export interface BodyRowProps {
  readonly row: Row<RowData>;
  readonly index: number;
  readonly height: number;
  /** Count of visible columns: a change draws the row again. */
  readonly columns: number;
  /** How cells are drawn: another unit draws the row again. */
  readonly definition: unknown;
  /** Whether Tab stops in this row; the others are reached with the arrow keys. */
  readonly active: boolean;
  readonly chosen: boolean | undefined;
  readonly onChoose: ((id: string) => void) | undefined;
}

/**
 * One row on the screen. Its elements are used again for another row of the table when this one has been scrolled away,
 * because making them again is most of the work of a frame; a focus inside does not go along to the other row.
 */
export const BodyRow = memo(function BodyRow(props: BodyRowProps) {
  const { row, index, active, chosen, onChoose } = props;
  const line = useRef<HTMLTableRowElement>(null);
  useEffect(() => {
    for (const stop of stopsIn(line.current)) stop.tabIndex = active ? 0 : -1;
  });
  // biome-ignore lint/correctness/useExhaustiveDependencies: the clean-up must run when the elements get another row
  useLayoutEffect(() => {
    const element = line.current;
    return () => {
      if (element?.contains(document.activeElement)) element.closest<HTMLElement>('[tabindex="0"]')?.focus();
    };
  }, [row.id]);
  return (
    <tr
      ref={line}
      aria-rowindex={index + 2}
      data-chosen={chosen || undefined}
      style={{ height: props.height }}
    >
      {onChoose !== undefined && (
        <td data-stays="">
          <label className="choose">
            <input
              type="checkbox"
              aria-label={say('general.chooseRowIndex', { index: index + 1 })}
              checked={chosen === true}
              onChange={() => onChoose(row.id)}
            />
          </label>
        </td>
      )}
      {row.getVisibleCells().map((cell, place) => (
        <td
          key={cell.column.id}
          className={cell.column.columnDef.meta?.numeric ? 'number' : undefined}
          data-stays={staysWhen(place, onChoose !== undefined)}
        >
          {drawn(cell)}
        </td>
      ))}
    </tr>
  );
});

/** The mark of the column that names the row: on narrow paper it stays in sight (touch.css). */
export function staysWhen(place: number, choosing: boolean): string | undefined {
  return place > 0 ? undefined : choosing ? 'after-choice' : '';
}

/** What stands in a cell. Called and not made a component of its own: it has no state, and there are hundreds. */
function drawn(cell: Cell<RowData, unknown>): ReactNode {
  const { cell: draw } = cell.column.columnDef;
  return typeof draw === 'function' ? draw(cell.getContext()) : draw;
}
