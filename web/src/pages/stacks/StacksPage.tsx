import { Button } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Stack } from '../../../../server/contract/stacks.ts';
import { useRequest } from '../../api/useRequest.ts';
import { day } from '../../format/time.ts';
import { FilterSelect } from '../../parts/FilterSelect.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { ThingList } from '../../parts/ThingList.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';
import { useSelection } from '../lots/useSelection.ts';
import { LabelSize } from './LabelSize.tsx';
import { PrintSheets } from './PrintSheets.tsx';

const columns: ColumnDef<Stack>[] = [
  {
    id: 'name',
    header: say('stacks.stack'),
    size: 160,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/stacks/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'state',
    header: say('stacks.state'),
    size: 110,
    accessorKey: 'state',
    cell: ({ row }) => <StateWord state={row.original.state} />,
  },
  {
    id: 'cells',
    header: say('stacks.cellsFromTheFirst'),
    size: 280,
    accessorFn: (s) => s.cells.map((c) => c.serial).join(' + '),
  },
  {
    id: 'lots',
    header: say('stacks.lot'),
    size: 180,
    accessorFn: (s) => [...new Set(s.cells.map((c) => c.lotName))].join(', '),
  },
  {
    id: 'made',
    header: say('stacks.planned'),
    size: 120,
    accessorKey: 'createdAt',
    cell: ({ row }) => day(row.original.createdAt),
  },
  {
    id: 'built',
    header: say('stacks.built'),
    size: 120,
    accessorFn: (s) => s.builtAt ?? '',
    cell: ({ row }) => day(row.original.builtAt),
  },
  {
    id: 'due',
    header: say('stacks.checkUpDue'),
    size: 130,
    accessorFn: (s) => s.checkUpDueAt ?? '',
    cell: ({ row }) => day(row.original.checkUpDueAt),
  },
];

/** Whether a check-up is due at `now`. */
export function isDue(stack: Stack, now: number): boolean {
  return stack.state === 'built' && stack.checkUpDueAt !== null && Date.parse(stack.checkUpDueAt) <= now;
}

export default function StacksPage() {
  const [state] = useUrlState('state');
  const [due] = useUrlState('due');
  const [chosen, setChosen] = useSelection('stacks');
  const stacks = useRequest('/stacks', { query: { limit: 500, state } });
  const now = Date.now();
  const shown = stacks.data?.items.filter((s) => due === '' || isDue(s, now)) ?? [];
  const printed = shown.filter((s) => chosen.has(String(s.id)));
  return (
    <>
      <div className="not-print">
        <PageHead title={say('stacks.stacks')} about={say('stacks.whatIsBuiltFromAcceptedPairs')} />
        <div className="sheet-tools">
          <FilterSelect
            name="state"
            label={say('stacks.state')}
            all={say('stacks.everyState')}
            options={['planned', 'built', 'retired']}
          />
          <FilterSelect
            name="due"
            label={say('stacks.checkUp')}
            all={say('stacks.any')}
            options={[{ value: 'yes', label: say('stacks.due') }]}
          />
        </div>
        <ThingList
          things={stacks}
          shown={shown}
          one={say('stacks.stack2')}
          filtered={state !== '' || due !== ''}
          none={
            <p>
              {say('stacks.acceptPairsInA')} <Link to="/pairings">{say('stacks.pairing')}</Link>
              {say('stacks.thenPlanTheirStacksThere')}
            </p>
          }
          name="stacks"
          label={say('stacks.stacks')}
          columns={columns}
          chosen={chosen}
          onChosen={setChosen}
        >
          {printed.length === 0 ? (
            <p>{say('stacks.chooseStacksInTheTableTo')}</p>
          ) : (
            <div className="sheet-tools">
              <LabelSize />
              <Button onClick={() => print()}>
                {say('stacks.printLabelsAndTravellersOfThe', { printed: printed.length })}
              </Button>
            </div>
          )}
        </ThingList>
      </div>
      <PrintSheets stacks={printed} />
    </>
  );
}
