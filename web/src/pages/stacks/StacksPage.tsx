import { Button, NativeSelect } from '@mantine/core';
import type { ColumnDef } from '@tanstack/react-table';
import { Link } from 'react-router';
import type { Page } from '../../../../server/contract/common.ts';
import type { Stack } from '../../../../server/contract/stacks.ts';
import { useRequest } from '../../api/useRequest.ts';
import { day } from '../../format/time.ts';
import { Empty } from '../../parts/Empty.tsx';
import { PageHead } from '../../parts/PageHead.tsx';
import { Problem } from '../../parts/Problem.tsx';
import { StateWord } from '../../parts/StateWord.tsx';
import { useUrlState } from '../../parts/useUrlState.ts';
import { Waiting } from '../../parts/Waiting.tsx';
import { DataTable } from '../../tables/DataTable.tsx';
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
  const [state, setState] = useUrlState('state');
  const [due, setDue] = useUrlState('due');
  const [chosen, setChosen] = useSelection('stacks');
  const stacks = useRequest<Page<Stack>>('/stacks', { limit: 500, state });
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
          <NativeSelect
            size="xs"
            label="State"
            value={state}
            data={[{ value: '', label: 'every state' }, 'planned', 'built', 'retired']}
            onChange={(e) => setState(e.currentTarget.value)}
          />
          <NativeSelect
            size="xs"
            label="Check-up"
            value={due}
            data={[
              { value: '', label: 'any' },
              { value: 'yes', label: 'due' },
            ]}
            onChange={(e) => setDue(e.currentTarget.value)}
          />
        </div>
        {stacks.loading && <Waiting />}
        <Problem error={stacks.error} again={stacks.again} />
        {stacks.data !== undefined &&
          (shown.length === 0 ? (
            <Empty title={state === '' && due === '' ? 'No stack yet' : 'No stack fits'}>
              <p>
                Accept pairs in a <Link to="/pairings">pairing</Link>, then plan their stacks there.
              </p>
            </Empty>
          ) : (
            <>
              <DataTable
                name="stacks"
                label="Stacks"
                rows={shown}
                columns={columns}
                rowId={(s) => String(s.id)}
                chosen={chosen}
                onChosen={setChosen}
              />
              <div className="actions">
                <Button disabled={printed.length === 0} onClick={() => print()}>
                  Print labels and travellers of the {printed.length} chosen
                </Button>
              </div>
            </>
          ))}
      </div>
      <PrintSheets stacks={printed} />
    </>
  );
}
