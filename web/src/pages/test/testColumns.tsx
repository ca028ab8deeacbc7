import type { ColumnDef } from '@tanstack/react-table';
import type { Test } from '../../../../server/contract/tests.ts';
import { significant } from '../../format/number.ts';
import { instant, span } from '../../format/time.ts';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';
import { plainCode } from '../../words/reasons.ts';
import { said } from '../../words/sentences.ts';

/** What a test is called where it has no label. */
export function testTitle(test: Pick<Test, 'label' | 'kind' | 'id'>): string {
  return test.label === ''
    ? say('test.testKindTestId', { testKind: plainCode(test.kind), id: test.id })
    : test.label;
}

/** Columns of a list of tests. */
export const testColumns: ColumnDef<Test>[] = [
  {
    id: 'label',
    header: say('test.test'),
    size: 220,
    accessorFn: testTitle,
    enableHiding: false,
    cell: ({ row }) => <RowLink to={`/tests/${row.original.id}`}>{testTitle(row.original)}</RowLink>,
  },
  { id: 'kind', header: say('test.kind'), size: 100, accessorFn: (t) => plainCode(t.kind) },
  {
    id: 'cell',
    header: say('test.cell'),
    size: 140,
    accessorKey: 'cellSerial',
    cell: ({ row }) => <RowLink to={`/cells/${row.original.cellId}`}>{row.original.cellSerial}</RowLink>,
  },
  { id: 'lot', header: say('test.lot'), size: 160, accessorKey: 'lotName' },
  {
    id: 'started',
    header: say('test.begun'),
    size: 170,
    accessorFn: (t) => t.startedAt ?? '',
    cell: ({ row }) => instant(row.original.startedAt),
  },
  {
    id: 'temperature',
    header: say('test.temperatureC'),
    size: 120,
    meta: { numeric: true },
    accessorFn: (t) => t.temperatureC ?? undefined,
    sortUndefined: 'last',
    cell: ({ row }) => (row.original.temperatureC === null ? '–' : significant(row.original.temperatureC, 3)),
  },
  {
    id: 'duration',
    header: say('test.duration'),
    size: 110,
    meta: { numeric: true },
    accessorFn: (t) => t.record?.durationS,
    cell: ({ row }) => (row.original.record === null ? '–' : span(row.original.record.durationS)),
  },
  {
    id: 'rows',
    header: say('test.samples'),
    size: 100,
    meta: { numeric: true },
    accessorFn: (t) => t.record?.rowCount ?? t.spectra?.pointCount,
  },
  {
    id: 'evaluated',
    header: say('test.evaluated'),
    size: 190,
    accessorFn: (t) => t.evaluatedAt ?? t.evaluationError ?? '',
    cell: ({ row }) => {
      const { evaluatedAt, evaluationError } = row.original;
      if (evaluationError !== null)
        return (
          <span title={said(evaluationError)}>
            {say('test.refusedEvaluationError', { evaluationError: said(evaluationError) })}
          </span>
        );
      return evaluatedAt === null ? say('test.notYet') : `● ${instant(evaluatedAt)}`;
    },
  },
];
