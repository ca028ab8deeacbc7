import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { FilterSelect, LotFilter } from '../../parts/FilterSelect.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { useSelection } from '../lots/useSelection.ts';
import { ChangeTests } from './ChangeTests.tsx';
import { testColumns } from './testColumns.tsx';

const kinds = ['pulse', 'capacity', 'rest', 'impedance', 'cycling'];
const evaluations = [
  { value: 'no', label: 'not yet evaluated' },
  { value: 'yes', label: 'evaluated' },
  { value: 'failed', label: 'refused' },
];

export default function TestsPage() {
  const [lotId] = useUrlState('lotId');
  const [kind] = useUrlState('kind');
  const [evaluated] = useUrlState('evaluated');
  const tests = useRequest('/tests', { query: { limit: 500, lotId, kind, evaluated } });
  const [chosen, setChosen] = useSelection('tests');
  const chosenTests = tests.data?.items.filter((t) => chosen.has(String(t.id))) ?? [];
  return (
    <>
      <PageHead
        title="Tests"
        about="One run on one cell: the record, what was found in it, and what follows from it."
      />
      <div className="sheet-tools">
        <LotFilter />
        <FilterSelect name="kind" label="Kind" all="every kind" options={kinds} />
        <FilterSelect name="evaluated" label="Evaluation" all="any" options={evaluations} />
      </div>
      <ThingList
        things={tests}
        one="test"
        filtered={[lotId, kind, evaluated].some((f) => f !== '')}
        none={
          <p>
            A test is made by importing the record of a run. <Link to="/import">Import files</Link>
          </p>
        }
        name="tests"
        label="Tests"
        columns={testColumns}
        filterLabel="Filter these rows"
        chosen={chosen}
        onChosen={setChosen}
      >
        {chosenTests.length > 0 && (
          <section>
            <h2>What the records of the chosen tests do not say</h2>
            <ChangeTests tests={chosenTests} />
          </section>
        )}
      </ThingList>
    </>
  );
}
