import { type FocusEvent, type KeyboardEvent, type RefObject, useEffect, useRef, useState } from 'react';

/** What can have the focus in a row. */
export function stopsIn(row: Element | null): HTMLElement[] {
  return row === null ? [] : [...row.querySelectorAll<HTMLElement>('a, button, input, select')];
}

export interface RowKeys {
  /** The row in which Tab stops. */
  readonly active: number;
  readonly onKeyDown: (event: KeyboardEvent) => void;
  readonly onFocus: (event: FocusEvent) => void;
}

/**
 * One stop for Tab in a table of thousands of rows: inside, the arrow keys, Home and End go from row to row, and Tab
 * leaves the table. A row that is not drawn yet is scrolled to first.
 */
export function useRowKeys(
  scroll: RefObject<HTMLElement | null>,
  count: number,
  scrollTo: (index: number) => void,
): RowKeys {
  const [active, setActive] = useState(0);
  const wanted = useRef<{ index: number; stop: number } | null>(null);
  // After the row has been drawn it takes the focus, in the same column as before.
  useEffect(() => {
    if (wanted.current === null) return;
    const { index, stop } = wanted.current;
    const stops = stopsIn(scroll.current?.querySelector(`tr[aria-rowindex="${index + 2}"]`) ?? null);
    if (stops.length === 0) return;
    wanted.current = null;
    stops[Math.min(stop, stops.length - 1)].focus();
  });
  const go = (index: number, stop: number): void => {
    wanted.current = { index, stop };
    setActive(index);
    scrollTo(index);
  };
  return {
    active: Math.min(active, Math.max(0, count - 1)),
    onKeyDown: (event) => {
      const at = indexOf(event.target);
      if (at === null || count === 0 || usesArrows(event.target)) return;
      const next = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: count - 1 }[event.key];
      if (next === undefined) return;
      event.preventDefault();
      const row = (event.target as Element).closest('tr');
      go(Math.min(count - 1, Math.max(0, next)), stopsIn(row).indexOf(event.target as HTMLElement));
    },
    onFocus: (event) => {
      const at = indexOf(event.target);
      if (at !== null) setActive(at);
    },
  };
}

/** Fields in which the arrow keys mean something of their own. */
export function usesArrows(target: EventTarget): boolean {
  return target instanceof Element && target.matches('select, textarea, input:not([type="checkbox"])');
}

function indexOf(target: EventTarget): number | null {
  const row = target instanceof Element ? target.closest('tr')?.getAttribute('aria-rowindex') : null;
  return row === null || row === undefined ? null : Number(row) - 2;
}
