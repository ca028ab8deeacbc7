import { Link } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { FilterSelect, LotFilter } from '../../parts/FilterSelect.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { say } from '../../words/i18n.ts';
import { useSelection } from '../lots/useSelection.ts';
import { ChangeTests } from './ChangeTests.tsx';
import { testColumns } from './testColumns.tsx';

const kinds = ['pulse', 'capacity', 'rest', 'impedance', 'cycling'];
const evaluations = [
  { value: 'no', label: say('test.notYetEvaluated') },
  { value: 'yes', label: say('test.evaluated2') },
  { value: 'failed', label: say('test.refused') },
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
      <PageHead title={say('test.tests')} about={say('test.oneRunOnOneCellThe')} />
      <div className="sheet-tools">
        <LotFilter />
        <FilterSelect name="kind" label={say('test.kind')} all={say('test.everyKind')} options={kinds} />
        <FilterSelect
          name="evaluated"
          label={say('test.evaluation')}
          all={say('test.any')}
          options={evaluations}
        />
      </div>
      <ThingList
        things={tests}
        one={say('test.test2')}
        filtered={[lotId, kind, evaluated].some((f) => f !== '')}
        none={
          <p>
            {say('test.aTestIsMadeByImporting')} <Link to="/import">{say('test.importFiles')}</Link>
          </p>
        }
        name="tests"
        label={say('test.tests')}
        columns={testColumns}
        filterLabel={say('test.filterTheseRows')}
        chosen={chosen}
        onChosen={setChosen}
      >
        {chosenTests.length > 0 && (
          <section>
            <h2>{say('test.whatTheRecordsOfTheChosen')}</h2>
            <ChangeTests tests={chosenTests} />
          </section>
        )}
      </ThingList>
    </>
  );
}
