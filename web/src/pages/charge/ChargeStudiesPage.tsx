import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { ChargeStudyHead } from '../../../../server/contract/chargeStudies.ts';
import { useRequest } from '../../api/useRequest.ts';
import { instant } from '../../format/time.ts';
import { PageHead } from '../../parts/PageHead.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';
import { useSelection } from '../lots/useSelection.ts';

const columns: ColumnDef<ChargeStudyHead>[] = [
  {
    id: 'name',
    header: say('charge.study'),
    size: 320,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/charge-studies/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'when',
    header: say('charge.made'),
    size: 180,
    accessorKey: 'createdAt',
    cell: ({ row }) => instant(row.original.createdAt),
  },
  { id: 'state', header: say('charge.state'), size: 110, accessorKey: 'state' },
  { id: 'by', header: say('charge.by'), size: 140, accessorKey: 'createdBy' },
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
        title={say('charge.chargeStudies')}
        about={say('charge.howFastACellOrA')}
        actions={
          <>
            <Button component={Link} variant="default" to="/supply-parts">
              {say('charge.convertersCablesSources')}
            </Button>
            <Button component={Link} to="/charge-studies/new">
              {say('charge.newStudy')}
            </Button>
          </>
        }
      />
      <ThingList
        things={studies}
        one={say('charge.study2')}
        none={
          <p>
            {say('charge.planAStackFromAnAccepted')}{' '}
            <Link to="/charge-studies/new">{say('charge.makeAStudy')}</Link>.
          </p>
        }
        name="studies"
        label={say('charge.chargeStudies')}
        columns={columns}
        chosen={chosen}
        onChosen={setChosen}
      >
        {chosen.size < 2 ? (
          <p>{say('charge.chooseTwoToFourStudiesIn')}</p>
        ) : (
          <div className="actions">
            <Button
              component={Link}
              variant="default"
              to={`/charge-studies/compare?ids=${[...chosen].slice(0, 4).join(',')}`}
            >
              {say('charge.compareTheChosenUpToFour')}
            </Button>
          </div>
        )}
      </ThingList>
    </>
  );
}
