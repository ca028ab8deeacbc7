import { useEffect } from 'react';

/** How long the page must have been quiet before a lost focus is put somewhere. */
const quietMs = 120;

const stops = 'a[href], button, input, select, textarea, summary, [tabindex="0"]';

/** Where something stood that had the focus: its ancestors from the inside out, and its place among the stops of each. */
interface Place {
  readonly element: HTMLElement;
  readonly within: readonly { readonly ancestor: HTMLElement; readonly index: number }[];
}

/**
 * Keeps the focus of those who work by keyboard. What is pressed often goes away (a decision is made, a form opens in
 * its place, another page comes); the browser then drops the focus, and keyboard users would be sent back to the top. It is
 * put back where it was, else to what stands there now, else to the beginning of the page.
 */
export function useKeptFocus(): void {
  useEffect(() => {
    let byKeyboard = false;
    let last: Place | null = null;
    let outsideNotices: Place | null = null;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const onKey = (): void => {
      byKeyboard = true;
    };
    const onPointer = (): void => {
      byKeyboard = false;
    };
    const onFocus = (event: FocusEvent): void => {
      if (!(event.target instanceof HTMLElement) || event.target === document.body) return;
      last = placeOf(event.target);
      if (event.target.closest('.notices') === null) outsideNotices = last;
    };
    const look = (): void => {
      if (!byKeyboard || last === null || document.activeElement !== document.body) return;
      // A button that works is disabled until it is done, and is the right place again afterwards.
      if (last.element.isConnected && last.element.hasAttribute('data-loading')) return;
      const gone = last.element.isConnected ? last.element.closest('.notices') !== null : inNotices(last);
      restore(gone && outsideNotices !== null ? outsideNotices : last);
    };
    const watch = new MutationObserver(() => {
      clearTimeout(timer);
      timer = setTimeout(look, quietMs);
    });
    watch.observe(document.body, {
      childList: true,
      subtree: true,
      attributes: true,
      attributeFilter: ['disabled', 'data-loading'],
    });
    document.addEventListener('keydown', onKey, true);
    document.addEventListener('pointerdown', onPointer, true);
    document.addEventListener('focusin', onFocus);
    return () => {
      clearTimeout(timer);
      watch.disconnect();
      document.removeEventListener('keydown', onKey, true);
      document.removeEventListener('pointerdown', onPointer, true);
      document.removeEventListener('focusin', onFocus);
    };
  }, []);
}

function placeOf(element: HTMLElement): Place {
  const within: { ancestor: HTMLElement; index: number }[] = [];
  for (let at = element.parentElement; at !== null && at !== document.body; at = at.parentElement) {
    within.push({ ancestor: at, index: [...at.querySelectorAll(stops)].indexOf(element) });
    if (at.id === 'page') break;
  }
  return { element, within };
}

function inNotices(place: Place): boolean {
  return place.within.some(({ ancestor }) => ancestor.classList.contains('notices'));
}

function restore({ element, within }: Place): void {
  if (element.isConnected && !isDisabled(element)) {
    element.focus({ preventScroll: true });
    return;
  }
  for (const { ancestor, index } of within) {
    if (!ancestor.isConnected || ancestor.id === 'page') continue;
    const there = [...ancestor.querySelectorAll<HTMLElement>(stops)].filter((e) => !isDisabled(e));
    if (there.length === 0) continue;
    there[Math.min(index, there.length - 1)].focus({ preventScroll: true });
    return;
  }
  document.getElementById('page')?.focus({ preventScroll: true });
}

function isDisabled(element: HTMLElement): boolean {
  return element.matches(':disabled, [aria-disabled="true"]') || element.getClientRects().length === 0;
}
