import { type ReactNode, useRef } from 'react';
import { whole } from '../format/number.ts';
import { TableTools } from '../tables/TableTools.tsx';
import { rowsOfTable } from '../tables/tableFile.ts';
import { useOneStop } from '../tables/useOneStop.ts';
import { say } from '../words/i18n.ts';
import { MoreSideways } from './MoreSideways.tsx';
import { useSideways } from './useSideways.ts';

export interface SheetProps {
  readonly label: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly ReactNode[])[];
  /** Places of the columns with numbers. */
  readonly numeric?: readonly number[];
  readonly maxHeight?: number;
}

/** Up to so many rows a table is as high as it needs. */
const wholeRows = 25;
/** From so many rows on it can be copied and saved: below that it is quicker read. */
const toolsFrom = 3;

/** A small plain table that scrolls in itself where the page is too narrow. For many rows there is DataTable. */
export function Sheet({ label, head, rows, numeric = [], maxHeight = 460 }: SheetProps) {
  const table = useRef<HTMLTableElement>(null);
  // Few rows are shown whole: a table that scrolls in itself hides its last rows in the middle of a line.
  const scrolls = rows.length > wholeRows;
  const scroll = useRef<HTMLElement>(null);
  const body = useRef<HTMLTableSectionElement>(null);
  const keys = useOneStop(body);
  useSideways(scroll);
  const style = (column: number) => (numeric.includes(column) ? 'number' : undefined);
  return (
    <>
      <section
        ref={scroll}
        className="small-sheet"
        style={scrolls ? { maxHeight } : undefined}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard
        tabIndex={0}
        aria-label={label}
      >
        <table ref={table} className="plain">
          <thead>
            <tr>
              {head.map((name, j) => (
                <th key={name} scope="col" className={style(j)}>
                  {name === '' ? <span className="for-readers">{say('general.actions')}</span> : name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody ref={body} {...keys}>
            {rows.map((row, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: the rows are given as text and have no identity but their place
              <tr key={i}>
                {row.map((value, j) => (
                  <td key={head[j]} className={style(j)}>
                    {value}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <MoreSideways />
      {rows.length >= toolsFrom && (
        <p className="sheet-foot">
          {scrolls && say('general.rowsRows', { rows: whole(rows.length) })}
          <TableTools label={label} rows={() => (table.current === null ? [] : rowsOfTable(table.current))} />
        </p>
      )}
    </>
  );
}
