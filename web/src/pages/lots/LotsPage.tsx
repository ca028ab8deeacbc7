import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Lot } from '../../../../server/contract/lots.ts';
import { useRequest } from '../../api/useRequest.ts';
import { day } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { RowLink } from '../../tables/RowLink.tsx';

const columns: ColumnDef<Lot>[] = [
  {
    id: 'name',
    header: 'Lot',
    size: 220,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/lots/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  { id: 'type', header: 'Cell type', size: 220, accessorKey: 'cellTypeName' },
  {
    id: 'received',
    header: 'Received',
    size: 120,
    accessorKey: 'receivedOn',
    cell: ({ row }) => (row.original.receivedOn === null ? '–' : day(row.original.receivedOn)),
  },
  { id: 'cells', header: 'Cells', size: 80, meta: { numeric: true }, accessorFn: (l) => l.counts.cells },
  {
    id: 'available',
    header: 'Available',
    size: 100,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.availableCells,
  },
  { id: 'tests', header: 'Tests', size: 80, meta: { numeric: true }, accessorFn: (l) => l.counts.tests },
  {
    id: 'toEvaluate',
    header: 'To evaluate',
    size: 110,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.testsNotEvaluated,
  },
  {
    id: 'pairings',
    header: 'Pairings',
    size: 90,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.pairings,
  },
  { id: 'stacks', header: 'Stacks', size: 80, meta: { numeric: true }, accessorFn: (l) => l.counts.stacks },
];

export default function LotsPage() {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  return (
    <>
      <PageHead
        title="Lots"
        about="One delivery of one cell type. A lot is made by importing files that name it."
        actions={
          <Button component={Link} to="/import">
            Import files
          </Button>
        }
      />
      <ThingList
        things={lots}
        one="lot"
        none={
          <p>
            Import a cell table or the records of your tester and give the lot a name: it is made by the
            import, with a cell for every serial. <Link to="/import">Import files</Link>
          </p>
        }
        name="lots"
        label="Lots"
        columns={columns}
        firstSort="name"
      />
    </>
  );
}
