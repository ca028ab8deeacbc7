import type { CircuitRow, CircuitTable, ParameterValue } from '../../contract/parameterSet.ts';
import type { TakenScale } from '../../contract/takenParameters.ts';

type Factor = NonNullable<TakenScale['r0Factor']>;

/**
 * Circuit tables with the factors that measured charges gave. Each factor is on the tables that were fitted before it, on top of the
 * factors before it: its charge was compared with the resistances as they then were. Uncertainties of value and factor add as
 * variances; the covariance of the first fit does not hold any more and is left out.
 *
 * @param scales each with the fit that holds it
 */
export function scaledTables(
  tables: readonly CircuitTable[],
  scales: readonly { readonly fitId: number; readonly scale: TakenScale }[],
): CircuitTable[] {
  const inOrder = [...scales].sort((a, b) => a.fitId - b.fitId);
  return tables.map((table) =>
    inOrder
      .filter(({ fitId }) => table.fitId === null || table.fitId < fitId)
      .reduce((scaledTable, { fitId, scale }) => withScale(scaledTable, scale, fitId), table),
  );
}

function withScale(table: CircuitTable, { r0Factor, branchFactor }: TakenScale, fitId: number): CircuitTable {
  return {
    ...table,
    fitId,
    rows: table.rows.map(
      (row): CircuitRow => ({
        ...row,
        r0: scaled(row.r0, r0Factor),
        branches: row.branches.map(({ r, tau }) => ({ r: scaled(r, branchFactor), tau })),
        covariance: null,
      }),
    ),
  };
}

function scaled(of: ParameterValue, factor: Factor | null): ParameterValue {
  if (of.value === null || factor === null) return of;
  const own = of.standardUncertainty;
  return {
    ...of,
    value: of.value * factor.value,
    standardUncertainty:
      own === null ? null : Math.hypot(own * factor.value, of.value * factor.standardUncertainty),
  };
}
