import type { ReactNode } from 'react';
import type { Page } from '../../../server/contract/common.ts';
import type { Requested } from '../api/useRequest.ts';
import { DataTable } from '../tables/DataTable.tsx';
import type { DataTableProps } from '../tables/dataTableProps.ts';
import { say } from '../words/i18n.ts';
import { Empty } from './Empty.tsx';
import { Problem } from './Problem.tsx';
import { Unreadable } from './Unreadable.tsx';
import { Waiting } from './Waiting.tsx';

export interface ThingListProps<T extends { readonly id: number }>
  extends Omit<DataTableProps<T>, 'rows' | 'rowId'> {
  readonly things: Requested<Page<T>>;
  /** Those of the answer that are shown; all where absent. */
  readonly shown?: readonly T[];
  /** `cell`: what one of them is called. */
  readonly one: string;
  /** Whether anything narrows the list, so that an empty one says to loosen the filters. */
  readonly filtered?: boolean;
  /** What to do where there is none yet. */
  readonly none: ReactNode;
  /** Below the table; only where there is a table. */
  readonly children?: ReactNode;
}

/** A list of things of one kind: waiting, refused, empty with the way on, or a table that says where it was cut. */
export function ThingList<T extends { readonly id: number }>(props: ThingListProps<T>) {
  const { things, shown, one, filtered = false, none, children, ...table } = props;
  const { data } = things;
  const rows = shown ?? data?.items ?? [];
  return (
    <>
      {things.loading && <Waiting />}
      <Problem error={things.error} again={things.again} />
      <Unreadable list={things.data} />
      {data !== undefined && rows.length === 0 && (
        <Empty title={filtered ? say('general.noOneFits', { one }) : say('general.noOneYet', { one })}>
          {filtered ? <p>{say('general.loosenTheFiltersAbove')}</p> : none}
        </Empty>
      )}
      {data !== undefined && rows.length > 0 && (
        <>
          <DataTable {...table} rows={rows} rowId={(thing) => String(thing.id)} />
          {children}
        </>
      )}
      {data !== undefined && data.total > data.items.length && (
        <p>{say('general.theFirstItemsOfTotalAre', { items: data.items.length, total: data.total })}</p>
      )}
    </>
  );
}
