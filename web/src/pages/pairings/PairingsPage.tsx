import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { PairingHead } from '../../../../server/contract/pairings.ts';
import { useRequest } from '../../api/useRequest.ts';
import { significant } from '../../format/number.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { RowLink } from '../../tables/RowLink.tsx';

const numeric = { numeric: true };
const columns: ColumnDef<PairingHead>[] = [
  {
    id: 'name',
    header: 'Pairing',
    size: 240,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/pairings/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'when',
    header: 'Run',
    size: 170,
    accessorKey: 'createdAt',
    cell: ({ row }) => instant(row.original.createdAt),
  },
  { id: 'by', header: 'By', size: 120, accessorKey: 'createdBy' },
  { id: 'proposed', header: 'To confirm', size: 110, meta: numeric, accessorFn: (p) => p.counts.proposed },
  { id: 'accepted', header: 'Accepted', size: 100, meta: numeric, accessorFn: (p) => p.counts.accepted },
  { id: 'rejected', header: 'Rejected', size: 100, meta: numeric, accessorFn: (p) => p.counts.rejected },
  { id: 'unpaired', header: 'Left over', size: 100, meta: numeric, accessorFn: (p) => p.counts.unpaired },
  {
    id: 'cost',
    header: 'Total cost',
    size: 110,
    meta: numeric,
    accessorKey: 'totalCost',
    cell: ({ row }) => significant(row.original.totalCost),
  },
  {
    id: 'proven',
    header: 'Proof',
    size: 120,
    accessorFn: (p) => (p.proven ? 'proven best' : 'not proven'),
  },
];

export default function PairingsPage() {
  const pairings = useRequest('/pairings', { query: { limit: 500 } });
  const overview = useRequest('/overview');
  const lot = overview.data?.newestLotId;
  const start = lot === null || lot === undefined ? '/pairings/new' : `/pairings/new?lots=${lot}`;
  return (
    <>
      <PageHead
        title="Pairing"
        about="In a series stack the smaller or more resistive cell reaches its voltage limit first. Which two cells go together decides how well the stack can be charged."
        actions={
          <Button component={Link} to={start}>
            Pair cells
          </Button>
        }
      />
      <ThingList
        things={pairings}
        one="pairing"
        none={
          <p>
            When the tests of a lot are evaluated, its cells can be paired. <Link to={start}>Pair cells</Link>
          </p>
        }
        name="pairings"
        label="Pairings"
        columns={columns}
        firstSort="-when"
      />
    </>
  );
}
