import { TextInput } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Cell } from '../../../../server/contract/cells.ts';
import { useRequest } from '../../api/useRequest.ts';
import { FilterSelect, LotFilter } from '../../parts/FilterSelect.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';

const columns: ColumnDef<Cell>[] = [
  {
    id: 'serial',
    header: say('cells.cell'),
    size: 160,
    accessorKey: 'serial',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/cells/${row.original.id}`}>{row.original.serial}</RowLink>,
  },
  {
    id: 'lot',
    header: say('cells.lot'),
    size: 200,
    accessorKey: 'lotName',
    cell: ({ row }) => <RowLink to={`/lots/${row.original.lotId}`}>{row.original.lotName}</RowLink>,
  },
  { id: 'type', header: say('cells.cellType'), size: 200, accessorKey: 'cellTypeName' },
  {
    id: 'state',
    header: say('cells.state'),
    size: 120,
    accessorKey: 'state',
    cell: ({ row }) => <StateWord state={row.original.state} />,
  },
  { id: 'reason', header: say('cells.reason'), size: 220, accessorFn: (c) => c.stateReason ?? '' },
  { id: 'tests', header: say('cells.tests'), size: 80, meta: { numeric: true }, accessorKey: 'testCount' },
  {
    id: 'stack',
    header: say('cells.stack'),
    size: 140,
    accessorFn: (c) => c.stackName ?? '',
    cell: ({ row }) =>
      row.original.stackId === null ? (
        ''
      ) : (
        <RowLink to={`/stacks/${row.original.stackId}`}>{row.original.stackName}</RowLink>
      ),
  },
];

const states = [
  { value: 'available', label: say('cells.available') },
  { value: 'set-aside', label: say('cells.setAside') },
  { value: 'in-stack', label: say('cells.inAStack') },
  { value: 'retired', label: say('cells.retired') },
];

export default function CellsPage() {
  const [search, setSearch] = useUrlState('search');
  const [state] = useUrlState('state');
  const [lotId] = useUrlState('lotId');
  const [lacking] = useUrlState('lacking');
  const cells = useRequest('/cells', { query: { limit: 500, search, state, lotId, lacking } });
  return (
    <>
      <PageHead title={say('cells.cells')} about={say('cells.onePhysicalPieceWithASerial')} />
      <div className="sheet-tools">
        <TextInput
          className="grows"
          size="xs"
          label={say('cells.serialContains')}
          value={search}
          onChange={(e) => setSearch(e.currentTarget.value)}
        />
        <LotFilter />
        <FilterSelect
          name="state"
          label={say('cells.state')}
          all={say('cells.everyState')}
          options={states}
        />
        <FilterSelect
          name="lacking"
          label={say('cells.values')}
          all={say('cells.any')}
          options={[{ value: 'yes', label: say('cells.capacityOrResistanceLacking') }]}
        />
      </div>
      <ThingList
        things={cells}
        one={say('cells.cell2')}
        filtered={[search, state, lotId, lacking].some((f) => f !== '')}
        none={
          <p>
            {say('cells.cellsAreMadeByImportingFiles')} <Link to="/import">{say('cells.importFiles')}</Link>
          </p>
        }
        name="cells"
        label={say('cells.cells')}
        columns={columns}
        filterLabel={say('cells.filterTheseRows')}
      />
    </>
  );
}
