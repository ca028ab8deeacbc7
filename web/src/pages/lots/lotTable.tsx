import type { ColumnDef } from '@tanstack/react-table';
import type { CellRow } from '../../../../server/contract/cells.ts';
import type { MeasurementColumn } from '../../../../server/contract/measurements.ts';
import { significant, withUncertainty } from '../../format/number.ts';
import { bareQuantity, labelled, missing } from '../../format/quantity.ts';
import { StateWord } from '../../parts/StateWord.tsx';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { RowLink } from '../../tables/RowLink.tsx';
import { say } from '../../words/i18n.ts';
import { columnTitle } from '../../words/quantities.ts';
import { reasonSentence } from '../../words/reasons.ts';

export interface LotTableView {
  readonly units: UnitChoice;
  readonly uncertainty: boolean;
  /** Outliers by column key: the ids of the cells. */
  readonly outliers: ReadonlyMap<string, ReadonlySet<number>>;
  /** The ids of the cells with a warning sign. */
  readonly warned: ReadonlySet<number>;
}

/** Columns of a table of cells: serial, state, tests, and one per measured quantity. */
export function lotTableColumns(
  measured: readonly MeasurementColumn[],
  view: LotTableView,
): ColumnDef<CellRow>[] {
  return [
    {
      id: 'serial',
      header: say('lots.cell'),
      size: 150,
      accessorKey: 'serial',
      enableHiding: false,
      cell: ({ row }) => <RowLink to={`/cells/${row.original.id}`}>{row.original.serial}</RowLink>,
    },
    {
      id: 'state',
      header: say('lots.state'),
      size: 150,
      accessorKey: 'state',
      cell: ({ row }) => (
        <span title={row.original.stateReason ?? undefined}>
          <StateWord state={row.original.state} warned={view.warned.has(row.original.id)} />
        </span>
      ),
    },
    { id: 'tests', header: say('lots.tests'), size: 80, meta: { numeric: true }, accessorKey: 'testCount' },
    ...measured.map((column) => measuredColumn(column, view)),
  ];
}

function measuredColumn(column: MeasurementColumn, view: LotTableView): ColumnDef<CellRow> {
  const outlying = view.outliers.get(column.key);
  return {
    id: column.key,
    header: labelled(columnTitle(column), column.unit, view.units),
    size: view.uncertainty ? 210 : 150,
    meta: { numeric: true },
    sortUndefined: 'last',
    accessorFn: (row) => {
      const held = row.values[column.key];
      return typeof held?.value === 'number'
        ? held.value * displayUnit(held.unit, view.units).factor
        : undefined;
    },
    cell: ({ row }) => {
      const held = row.original.values[column.key];
      if (held === undefined || held.value === null) {
        return <span title={reasonSentence(held?.reason)}>{missing}</span>;
      }
      const { factor } = displayUnit(held.unit, view.units);
      const text =
        view.uncertainty && held.standardUncertainty !== null
          ? withUncertainty(held.value * factor, held.standardUncertainty * factor)
          : view.uncertainty
            ? significant(held.value * factor)
            : bareQuantity(held.value, held.unit, view.units);
      const shown =
        held.measurementId === null ? (
          text
        ) : (
          <RowLink
            className="origin"
            to={`/measurements/${held.measurementId}`}
            title={say('lots.whereThisNumberComesFrom')}
          >
            {text}
          </RowLink>
        );
      return outlying?.has(row.original.id) ? (
        <span title={say('lots.outlierFarFromTheMedianOf')}>
          <span aria-hidden="true">▲ </span>
          <span className="for-readers">{say('lots.outlier')} </span>
          {shown}
        </span>
      ) : (
        shown
      );
    },
  };
}
