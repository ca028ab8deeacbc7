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
import { say } from '../../words/i18n.ts';

const numeric = { numeric: true };
const columns: ColumnDef<PairingHead>[] = [
  {
    id: 'name',
    header: say('pairings.pairing'),
    size: 240,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/pairings/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'when',
    header: say('pairings.run'),
    size: 170,
    accessorKey: 'createdAt',
    cell: ({ row }) => instant(row.original.createdAt),
  },
  { id: 'by', header: say('pairings.by'), size: 120, accessorKey: 'createdBy' },
  {
    id: 'proposed',
    header: say('pairings.toConfirm'),
    size: 110,
    meta: numeric,
    accessorFn: (p) => p.counts.proposed,
  },
  {
    id: 'accepted',
    header: say('pairings.accepted'),
    size: 100,
    meta: numeric,
    accessorFn: (p) => p.counts.accepted,
  },
  {
    id: 'rejected',
    header: say('pairings.rejected'),
    size: 100,
    meta: numeric,
    accessorFn: (p) => p.counts.rejected,
  },
  {
    id: 'unpaired',
    header: say('pairings.leftOver'),
    size: 100,
    meta: numeric,
    accessorFn: (p) => p.counts.unpaired,
  },
  {
    id: 'cost',
    header: say('pairings.totalCost'),
    size: 110,
    meta: numeric,
    accessorKey: 'totalCost',
    cell: ({ row }) => significant(row.original.totalCost),
  },
  {
    id: 'proven',
    header: say('pairings.proof'),
    size: 120,
    accessorFn: (p) => (p.proven ? say('pairings.provenBest') : say('pairings.notProven')),
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
        title={say('pairings.pairing')}
        about={say('pairings.inASeriesStackTheSmaller')}
        actions={
          <Button component={Link} to={start}>
            {say('pairings.pairCells')}
          </Button>
        }
      />
      <ThingList
        things={pairings}
        one={say('pairings.pairing2')}
        none={
          <p>
            {say('pairings.whenTheTestsOfALot')} <Link to={start}>{say('pairings.pairCells')}</Link>
          </p>
        }
        name="pairings"
        label={say('pairings.pairings')}
        columns={columns}
        firstSort="-when"
      />
    </>
  );
}
