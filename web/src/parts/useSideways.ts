import { type RefObject, useEffect } from 'react';

/**
 * Says on a scrolling element whether more of it lies to the left or to the right (`data-more="left right"`), so that a
 * table that is wider than the paper is seen to be so.
 */
export function useSideways(scroll: RefObject<HTMLElement | null>): void {
  useEffect(() => {
    const element = scroll.current;
    if (element === null) return;
    const look = (): void => {
      const left = element.scrollLeft > 1;
      const right = element.scrollLeft + element.clientWidth < element.scrollWidth - 1;
      const more = [left ? 'left' : '', right ? 'right' : ''].filter((side) => side !== '').join(' ');
      if (element.dataset.more !== more) element.dataset.more = more;
    };
    look();
    // Looking costs a layout, so it is done only when the element has moved sideways or has another size.
    let before = element.scrollLeft;
    const moved = (): void => {
      if (element.scrollLeft === before) return;
      before = element.scrollLeft;
      look();
    };
    const sizes = new ResizeObserver(look);
    sizes.observe(element);
    for (const child of element.children) sizes.observe(child);
    element.addEventListener('scroll', moved, { passive: true });
    return () => {
      sizes.disconnect();
      element.removeEventListener('scroll', moved);
    };
  }, [scroll]);
}
