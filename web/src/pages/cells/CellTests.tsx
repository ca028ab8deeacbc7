import { useRequest } from '../../api/useRequest.ts';
import { Problem } from '../../parts/Problem.tsx';
import { DataTable } from '../../tables/DataTable.tsx';
import { testColumns } from '../test/testColumns.tsx';

/** The tests of one cell. */
export function CellTests({ cellId }: { cellId: number }) {
  const { data, error, again } = useRequest('/tests', { query: { cellId, limit: 500 } });
  return (
    <>
      <h2>Tests</h2>
      <Problem error={error} again={again} />
      {data !== undefined &&
        (data.items.length === 0 ? (
          <p>No record of this cell has been imported.</p>
        ) : (
          <DataTable
            name="cellTests"
            label="Tests of this cell"
            rows={data.items}
            columns={testColumns}
            rowId={(t) => String(t.id)}
            height={300}
          />
        ))}
    </>
  );
}
