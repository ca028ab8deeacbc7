import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { DataTable } from '../../tables/DataTable.tsx';
import { say } from '../../words/i18n.ts';
import { testColumns } from '../test/testColumns.tsx';

/** The tests of one cell. */
export function CellTests({ cellId }: { cellId: number }) {
  const { data, error, again } = useRequest('/tests', { query: { cellId, limit: 500 } });
  return (
    <>
      <h2>{say('cells.tests')}</h2>
      <Problem error={error} again={again} />
      {data !== undefined &&
        (data.items.length === 0 ? (
          <p>{say('cells.noRecordOfThisCellHas')}</p>
        ) : (
          <DataTable
            name="cellTests"
            label={say('cells.testsOfThisCell')}
            rows={data.items}
            columns={testColumns}
            rowId={(t) => String(t.id)}
            height={300}
          />
        ))}
    </>
  );
}
