import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { ChargeStudyHead } from '../../../../server/contract/chargeStudies.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { RowLink } from '../../tables/RowLink.tsx';
import { useSelection } from '../lots/useSelection.ts';

const columns: ColumnDef<ChargeStudyHead>[] = [
  {
    id: 'name',
    header: 'Study',
    size: 320,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/charge-studies/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'when',
    header: 'Made',
    size: 180,
    accessorKey: 'createdAt',
    cell: ({ row }) => instant(row.original.createdAt),
  },
  { id: 'state', header: 'State', size: 110, accessorKey: 'state' },
  { id: 'by', header: 'By', size: 140, accessorKey: 'createdBy' },
];

export default function ChargeStudiesPage() {
  const studies = useRequest('/charge-studies', {
    query: {
      limit: 500,
    },
  });
  const [chosen, setChosen] = useSelection('charge-studies');
  return (
    <>
      <PageHead
        title="Charge studies"
        about="How fast a cell or a stack may be charged under every limit, which limit binds and when, and what happens when someone only watches the stack voltage."
        actions={
          <>
            <Button component={Link} variant="default" to="/supply-parts">
              Converters, cables, sources
            </Button>
            <Button component={Link} to="/charge-studies/new">
              New study
            </Button>
          </>
        }
      />
      <ThingList
        things={studies}
        one="study"
        none={
          <p>
            Plan a stack from an accepted pair first, or study a single cell; then{' '}
            <Link to="/charge-studies/new">make a study</Link>.
          </p>
        }
        name="studies"
        label="Charge studies"
        columns={columns}
        chosen={chosen}
        onChosen={setChosen}
      >
        {chosen.size < 2 ? (
          <p>Choose two to four studies in the table to compare them.</p>
        ) : (
          <div className="actions">
            <Button
              component={Link}
              variant="default"
              to={`/charge-studies/compare?ids=${[...chosen].slice(0, 4).join(',')}`}
            >
              Compare the chosen (up to four)
            </Button>
          </div>
        )}
      </ThingList>
    </>
  );
}
