import { type ReactNode, useEffect } from 'react';
import { Link } from 'react-router';
import { say } from '../words/i18n.ts';

export interface PageHeadProps {
  readonly title: string;
  /** Where the page belongs, from the outside in. */
  readonly within?: readonly { readonly name: string; readonly path: string }[];
  /** What the page is for, or what the thing is, in a line. */
  readonly about?: ReactNode;
  readonly actions?: ReactNode;
}

/** The head of a page: its title between two rules, where it belongs, and what can be done with it. */
export function PageHead({ title, within = [], about, actions }: PageHeadProps) {
  useEffect(() => {
    document.title = say('general.titleGemel', { title });
  }, [title]);
  return (
    <div className="page-head">
      {within.length > 0 && (
        <nav aria-label={say('general.whereThisPageBelongs')} className="within">
          {within.map((w) => (
            <Link key={w.path} to={w.path}>
              {w.name}
            </Link>
          ))}
        </nav>
      )}
      <div className="page-head-line">
        <h1>{title}</h1>
        {actions !== undefined && <div className="page-actions">{actions}</div>}
      </div>
      {about !== undefined && <div className="page-about">{about}</div>}
    </div>
  );
}
