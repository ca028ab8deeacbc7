import { type FocusEvent, type KeyboardEvent, type RefObject, useEffect, useRef } from 'react';
import { stopsIn, usesArrows } from './useRowKeys.ts';

/** From so many rows with something to press on, Tab stops in one of them only. */
const manyRows = 8;

export interface OneStop {
  readonly onKeyDown: (event: KeyboardEvent) => void;
  readonly onFocus: (event: FocusEvent) => void;
}

/**
 * Makes a plain table with many rows to press something in one stop for Tab, with the arrow keys, Home and End inside,
 * as in DataTable. `body` is its tbody.
 */
export function useOneStop(body: RefObject<HTMLTableSectionElement | null>): OneStop {
  const active = useRef<Element | null>(null);
  const rowsWithStops = () => [...(body.current?.rows ?? [])].filter((row) => stopsIn(row).length > 0);
  const mark = (): void => {
    const rows = rowsWithStops();
    if (rows.length < manyRows) return;
    const one = rows.find((row) => row === active.current) ?? rows[0];
    for (const row of rows) for (const stop of stopsIn(row)) stop.tabIndex = row === one ? 0 : -1;
  };
  useEffect(mark);
  return {
    onKeyDown: (event) => {
      const { target } = event;
      if (!(target instanceof HTMLElement) || usesArrows(target)) return;
      const rows = rowsWithStops();
      const at = rows.findIndex((row) => row.contains(target));
      if (at < 0 || rows.length < manyRows) return;
      const next = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key];
      if (next === undefined) return;
      event.preventDefault();
      const stops = stopsIn(rows[Math.min(rows.length - 1, Math.max(0, next))]);
      stops[Math.min(stopsIn(rows[at]).indexOf(target), stops.length - 1)].focus();
    },
    onFocus: (event) => {
      active.current = event.target.closest('tr');
      mark();
    },
  };
}
