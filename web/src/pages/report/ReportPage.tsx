import { Button } from '@mantine/core';
import type { ReactNode } from 'react';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { say } from '../../words/i18n.ts';
import './report.css';

export interface ReportPageProps {
  readonly title: string;
  readonly within: readonly { readonly name: string; readonly path: string }[];
  readonly about: ReactNode;
  readonly children: ReactNode;
}

/** The frame of a report: everything open and whole, to be read on paper. */
export function ReportPage({ title, within, about, children }: ReportPageProps) {
  return (
    <article className="report">
      <PageHead
        title={title}
        within={within}
        about={
          <>
            {about} {say('report.asOfInstant', { instant: instant(new Date().toISOString()) })}
          </>
        }
        actions={<Button onClick={() => window.print()}>{say('report.printOrSaveAsPdf')}</Button>}
      />
      {children}
    </article>
  );
}
