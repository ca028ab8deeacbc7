import type { ReactNode } from 'react';

/** Says that there is nothing yet and what to do next. */
export function Empty({ title, children }: { title: string; children: ReactNode }) {
  return (
    <section className="empty">
      <h2>{title}</h2>
      {children}
    </section>
  );
}
