import type { MouseEvent, ReactNode } from 'react';
import type { NavigateFunction } from 'react-router';

export interface RowLinkProps {
  readonly to: string;
  readonly className?: string;
  readonly title?: string;
  readonly children: ReactNode;
}

/**
 * A link inside a DataTable. It is a bare anchor, because hundreds of them are drawn in every frame of scrolling; the
 * table follows it within the page (`followRowLink`).
 */
export function RowLink({ to, className, title, children }: RowLinkProps) {
  return (
    <a href={to} className={className} title={title}>
      {children}
    </a>
  );
}

/** Follows a pressed link of a row without reloading the page; what the browser does otherwise stays its own. */
export function followRowLink(event: MouseEvent, go: NavigateFunction): void {
  if (event.defaultPrevented || event.button !== 0) return;
  if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  const link = event.target instanceof Element ? event.target.closest('a') : null;
  if (link === null || link.origin !== location.origin || link.target !== '') return;
  event.preventDefault();
  void go(`${link.pathname}${link.search}${link.hash}`);
}
