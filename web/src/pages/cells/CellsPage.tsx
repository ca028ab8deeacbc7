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

const columns: ColumnDef<Cell>[] = [
  {
    id: 'serial',
    header: 'Cell',
    size: 160,
    accessorKey: 'serial',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/cells/${row.original.id}`}>{row.original.serial}</RowLink>,
  },
  {
    id: 'lot',
    header: 'Lot',
    size: 200,
    accessorKey: 'lotName',
    cell: ({ row }) => <RowLink to={`/lots/${row.original.lotId}`}>{row.original.lotName}</RowLink>,
  },
  { id: 'type', header: 'Cell type', size: 200, accessorKey: 'cellTypeName' },
  {
    id: 'state',
    header: 'State',
    size: 120,
    accessorKey: 'state',
    cell: ({ row }) => <StateWord state={row.original.state} />,
  },
  { id: 'reason', header: 'Reason', size: 220, accessorFn: (c) => c.stateReason ?? '' },
  { id: 'tests', header: 'Tests', size: 80, meta: { numeric: true }, accessorKey: 'testCount' },
  {
    id: 'stack',
    header: 'Stack',
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
  { value: 'available', label: 'available' },
  { value: 'set-aside', label: 'set aside' },
  { value: 'in-stack', label: 'in a stack' },
  { value: 'retired', label: 'retired' },
];

export default function CellsPage() {
  const [search, setSearch] = useUrlState('search');
  const [state] = useUrlState('state');
  const [lotId] = useUrlState('lotId');
  const [lacking] = useUrlState('lacking');
  const cells = useRequest('/cells', { query: { limit: 500, search, state, lotId, lacking } });
  return (
    <>
      <PageHead
        title="Cells"
        about="One physical piece with a serial. For comparing cells, open their lot."
      />
      <div className="sheet-tools">
        <TextInput
          className="grows"
          size="xs"
          label="Serial contains"
          value={search}
          onChange={(e) => setSearch(e.currentTarget.value)}
        />
        <LotFilter />
        <FilterSelect name="state" label="State" all="every state" options={states} />
        <FilterSelect
          name="lacking"
          label="Values"
          all="any"
          options={[{ value: 'yes', label: 'capacity or resistance lacking' }]}
        />
      </div>
      <ThingList
        things={cells}
        one="cell"
        filtered={[search, state, lotId, lacking].some((f) => f !== '')}
        none={
          <p>
            Cells are made by importing files: a cell table, or records with a serial.{' '}
            <Link to="/import">Import files</Link>
          </p>
        }
        name="cells"
        label="Cells"
        columns={columns}
        filterLabel="Filter these rows"
      />
    </>
  );
}
