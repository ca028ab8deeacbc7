import { useParams } from 'react-router';
import { useRequest } from '../../api/useRequest.ts';
import { History } from '../../parts/History.tsx';
import { Notes } from '../../parts/Notes.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { Waiting } from '../../parts/Waiting.tsx';
import { say } from '../../words/i18n.ts';
import { stackTitle } from '../stacks/stackTitle.ts';
import { CellActions } from './CellActions.tsx';
import { CellAgeing } from './CellAgeing.tsx';
import { CellMeasurements } from './CellMeasurements.tsx';
import { CellPlace } from './CellPlace.tsx';
import { CellTables } from './CellTables.tsx';
import { CellTests } from './CellTests.tsx';

export default function CellPage() {
  const { id = '' } = useParams();
  const cell = useRequest('/cells/{id}', { params: { id } });
  const signs = useRequest(cell.data === undefined ? null : '/lots/{id}/warnings', {
    params: { id: cell.data?.lotId ?? 0 },
  });
  if (cell.data === undefined) {
    return cell.loading ? <Waiting /> : <Problem error={cell.error} again={cell.again} />;
  }
  const { data } = cell;
  const warned = signs.data?.items.some((s) => s.cellId === data.id) ?? false;
  return (
    <>
      <PageHead
        title={data.serial}
        within={[
          { name: say('cells.lots'), path: '/lots' },
          { name: data.lotName, path: `/lots/${data.lotId}` },
          ...(data.stackId === null
            ? []
            : [{ name: stackTitle(data.stackName ?? ''), path: `/stacks/${data.stackId}` }]),
        ]}
        about={
          <>
            {data.cellTypeName} · <StateWord state={data.state} warned={warned} />
            {data.stateReason !== null && <>: {data.stateReason}</>}
          </>
        }
        actions={<CellActions cell={data} />}
      />
      <CellPlace cell={data} />
      <CellTables cellId={data.id} cellTypeId={data.cellTypeId} />
      <CellAgeing cell={data} />
      <CellTests cellId={data.id} />
      <CellMeasurements cellId={data.id} />
      <Notes of="cells" id={data.id} />
      <History of="cells" id={data.id} />
    </>
  );
}
