import { NativeSelect } from '@mantine/core';
import { Link } from 'react-router';
import type { Page } from '../../../../server/contract/common.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import type { Test } from '../../../../server/contract/tests.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { DataTable } from '../../tables/DataTable.tsx';
import { useSelection } from '../lots/useSelection.ts';
import { ChangeTests } from './ChangeTests.tsx';
import { testColumns } from './testColumns.tsx';

const kinds = ['pulse', 'capacity', 'rest', 'impedance', 'cycling'];

export default function TestsPage() {
  const [lotId, setLotId] = useUrlState('lotId');
  const [kind, setKind] = useUrlState('kind');
  const [evaluated, setEvaluated] = useUrlState('evaluated');
  const lots = useRequest<Page<Lot>>('/lots', { limit: 500 });
  const tests = useRequest<Page<Test>>('/tests', { limit: 500, lotId, kind, evaluated });
  const [chosen, setChosen] = useSelection('tests');
  const chosenTests = tests.data?.items.filter((t) => chosen.has(String(t.id))) ?? [];
  const filtered = lotId !== '' || kind !== '' || evaluated !== '';
  return (
    <>
      <PageHead
        title="Tests"
        about="One run on one cell: the record, what was found in it, and what follows from it."
      />
      <div className="sheet-tools">
        <NativeSelect
          size="xs"
          label="Lot"
          value={lotId}
          data={[
            { value: '', label: 'every lot' },
            ...(lots.data?.items.map((l) => ({ value: String(l.id), label: l.name })) ?? []),
          ]}
          onChange={(e) => setLotId(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label="Kind"
          value={kind}
          data={[{ value: '', label: 'every kind' }, ...kinds]}
          onChange={(e) => setKind(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label="Evaluation"
          value={evaluated}
          data={[
            { value: '', label: 'any' },
            { value: 'no', label: 'not yet evaluated' },
            { value: 'yes', label: 'evaluated' },
            { value: 'failed', label: 'refused' },
          ]}
          onChange={(e) => setEvaluated(e.currentTarget.value)}
        />
      </div>
      {tests.loading && <Waiting />}
      <Problem error={tests.error} again={tests.again} />
      {tests.data !== undefined && tests.data.items.length === 0 && (
        <Empty title={filtered ? 'No test fits' : 'No test yet'}>
          {filtered ? (
            <p>Loosen the filters above.</p>
          ) : (
            <p>
              A test is made by importing the record of a run. <Link to="/import">Import files</Link>
            </p>
          )}
        </Empty>
      )}
      {tests.data !== undefined && tests.data.items.length > 0 && (
        <DataTable
          name="tests"
          label="Tests"
          rows={tests.data.items}
          columns={testColumns}
          rowId={(t) => String(t.id)}
          filterLabel="Filter these rows"
          chosen={chosen}
          onChosen={setChosen}
        />
      )}
      {chosenTests.length > 0 && (
        <section>
          <h2>What the records of the chosen tests do not say</h2>
          <ChangeTests tests={chosenTests} />
        </section>
      )}
      {tests.data !== undefined && tests.data.total > tests.data.items.length && (
        <p>
          The first {tests.data.items.length} of {tests.data.total} tests. Narrow the filters to see others.
        </p>
      )}
    </>
  );
}
