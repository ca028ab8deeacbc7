import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Lot } from '../../../../server/contract/lots.ts';
import { useRequest } from '../../api/useRequest.ts';
import { day } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';

const columns: ColumnDef<Lot>[] = [
  {
    id: 'name',
    header: say('lots.lot'),
    size: 220,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/lots/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  { id: 'type', header: say('lots.cellType'), size: 220, accessorKey: 'cellTypeName' },
  {
    id: 'received',
    header: say('lots.received'),
    size: 120,
    accessorKey: 'receivedOn',
    cell: ({ row }) => (row.original.receivedOn === null ? '–' : day(row.original.receivedOn)),
  },
  {
    id: 'cells',
    header: say('lots.cells'),
    size: 80,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.cells,
  },
  {
    id: 'available',
    header: say('lots.available'),
    size: 100,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.availableCells,
  },
  {
    id: 'tests',
    header: say('lots.tests'),
    size: 80,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.tests,
  },
  {
    id: 'toEvaluate',
    header: say('lots.toEvaluate'),
    size: 110,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.testsNotEvaluated,
  },
  {
    id: 'pairings',
    header: say('lots.pairings'),
    size: 90,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.pairings,
  },
  {
    id: 'stacks',
    header: say('lots.stacks'),
    size: 80,
    meta: { numeric: true },
    accessorFn: (l) => l.counts.stacks,
  },
];

export default function LotsPage() {
  const lots = useRequest('/lots', { query: { limit: 500 } });
  return (
    <>
      <PageHead
        title={say('lots.lots')}
        about={say('lots.oneDeliveryOfOneCellType')}
        actions={
          <Button component={Link} to="/import">
            {say('lots.importFiles')}
          </Button>
        }
      />
      <ThingList
        things={lots}
        one={say('lots.lot2')}
        none={
          <p>
            {say('lots.importACellTableOrThe')} <Link to="/import">{say('lots.importFiles')}</Link>
          </p>
        }
        name="lots"
        label={say('lots.lots')}
        columns={columns}
        firstSort="name"
      />
    </>
  );
}
