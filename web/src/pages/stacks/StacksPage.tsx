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
import { useSelection } from '../lots/useSelection.ts';
import { PrintSheets } from './PrintSheets.tsx';

const columns: ColumnDef<Stack>[] = [
  {
    id: 'name',
    header: 'Stack',
    size: 160,
    accessorKey: 'name',
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/stacks/${row.original.id}`}>{row.original.name}</RowLink>,
  },
  {
    id: 'state',
    header: 'State',
    size: 110,
    accessorKey: 'state',
    cell: ({ row }) => <StateWord state={row.original.state} />,
  },
  {
    id: 'cells',
    header: 'Cells, from the first',
    size: 280,
    accessorFn: (s) => s.cells.map((c) => c.serial).join(' + '),
  },
  {
    id: 'lots',
    header: 'Lot',
    size: 180,
    accessorFn: (s) => [...new Set(s.cells.map((c) => c.lotName))].join(', '),
  },
  {
    id: 'made',
    header: 'Planned',
    size: 120,
    accessorKey: 'createdAt',
    cell: ({ row }) => day(row.original.createdAt),
  },
  {
    id: 'built',
    header: 'Built',
    size: 120,
    accessorFn: (s) => s.builtAt ?? '',
    cell: ({ row }) => day(row.original.builtAt),
  },
  {
    id: 'due',
    header: 'Check-up due',
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
        <PageHead
          title="Stacks"
          about="What is built from accepted pairs. Until it is built, planning a stack can be undone; a built stack keeps the values it was chosen by."
        />
        <div className="sheet-tools">
          <FilterSelect
            name="state"
            label="State"
            all="every state"
            options={['planned', 'built', 'retired']}
          />
          <FilterSelect name="due" label="Check-up" all="any" options={[{ value: 'yes', label: 'due' }]} />
        </div>
        <ThingList
          things={stacks}
          shown={shown}
          one="stack"
          filtered={state !== '' || due !== ''}
          none={
            <p>
              Accept pairs in a <Link to="/pairings">pairing</Link>, then plan their stacks there.
            </p>
          }
          name="stacks"
          label="Stacks"
          columns={columns}
          chosen={chosen}
          onChosen={setChosen}
        >
          {printed.length === 0 ? (
            <p>Choose stacks in the table to print their labels and travellers.</p>
          ) : (
            <div className="actions">
              <Button onClick={() => print()}>
                Print labels and travellers of the {printed.length} chosen
              </Button>
            </div>
          )}
        </ThingList>
      </div>
      <PrintSheets stacks={printed} />
    </>
  );
}
