import { significant } from '../format/number.ts';
import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';
import { pictureTable } from './pictureTable.ts';

const shownRows = 500;

/** The same data as the chart, as a table. Long series are cut here, said so, and whole in the CSV. */
export function PictureTableView({ picture, height }: { picture: Picture; height: number }) {
  const table = pictureTable(picture);
  return (
    <section
      className="chart-table"
      style={{ maxHeight: height }}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard
      tabIndex={0}
      aria-label={say('charts.pictureTitleData', { pictureTitle: picture.title })}
    >
      <table className="plain">
        <thead>
          <tr>
            {table.columns.map((c) => (
              <th key={c} scope="col">
                {c}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {table.rows.slice(0, shownRows).map((row, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: rows of a picture have no identity but their place
            <tr key={i}>
              {row.map((value, j) => (
                <td key={table.columns[j]} className={typeof value === 'number' ? 'number' : undefined}>
                  {typeof value === 'number' ? significant(value, 6) : (value ?? '–')}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      {table.rows.length > shownRows && (
        <p>{say('charts.theFirstOfRowsTheCSV', { shownRows, rows: table.rows.length })}</p>
      )}
    </section>
  );
}
