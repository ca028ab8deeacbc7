import { NativeSelect, TextInput } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Cell } from '../../../../server/contract/cells.ts';
import type { Page } from '../../../../server/contract/common.ts';
import type { Lot } from '../../../../server/contract/lots.ts';
import { useRequest } from '../../api/useRequest.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { DataTable } from '../../tables/DataTable.tsx';
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

export default function CellsPage() {
  const [search, setSearch] = useUrlState('search');
  const [state, setState] = useUrlState('state');
  const [lotId, setLotId] = useUrlState('lotId');
  const [lacking, setLacking] = useUrlState('lacking');
  const lots = useRequest<Page<Lot>>('/lots', { limit: 500 });
  const cells = useRequest<Page<Cell>>('/cells', { limit: 500, search, state, lotId, lacking });
  const filtered = search !== '' || state !== '' || lotId !== '' || lacking !== '';
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
          label="State"
          value={state}
          data={[
            { value: '', label: 'every state' },
            { value: 'available', label: 'available' },
            { value: 'set-aside', label: 'set aside' },
            { value: 'in-stack', label: 'in a stack' },
            { value: 'retired', label: 'retired' },
          ]}
          onChange={(e) => setState(e.currentTarget.value)}
        />
        <NativeSelect
          size="xs"
          label="Values"
          value={lacking}
          data={[
            { value: '', label: 'any' },
            { value: 'yes', label: 'capacity or resistance lacking' },
          ]}
          onChange={(e) => setLacking(e.currentTarget.value)}
        />
      </div>
      {cells.loading && <Waiting />}
      <Problem error={cells.error} again={cells.again} />
      {cells.data !== undefined && cells.data.items.length === 0 && (
        <Empty title={filtered ? 'No cell fits' : 'No cell yet'}>
          {filtered ? (
            <p>Loosen the filters above.</p>
          ) : (
            <p>
              Cells are made by importing files: a cell table, or records with a serial.{' '}
              <Link to="/import">Import files</Link>
            </p>
          )}
        </Empty>
      )}
      {cells.data !== undefined && cells.data.items.length > 0 && (
        <DataTable
          name="cells"
          label="Cells"
          rows={cells.data.items}
          columns={columns}
          rowId={(c) => String(c.id)}
          filterLabel="Filter these rows"
        />
      )}
      {cells.data !== undefined && cells.data.total > cells.data.items.length && (
        <p>
          The first {cells.data.items.length} of {cells.data.total} cells. Narrow the search, or open a lot to
          see all of its cells.
        </p>
      )}
    </>
  );
}
