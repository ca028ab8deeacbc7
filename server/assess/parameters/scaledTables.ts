import type { CircuitRow, CircuitTable, ParameterValue } from '../../contract/parameterSet.ts';
import type { TakenScale } from '../../contract/takenParameters.ts';

type Factor = NonNullable<TakenScale['r0Factor']>;

/**
 * Circuit tables with the factors that a measured charge gave for all resistances that were fitted before it. Uncertainties of value and
 * factor add as variances; the covariance of the first fit does not hold any more and is left out.
 *
 * @param fitId of the stored factors; tables of later fits stay as they are
 */
export function scaledTables(
  tables: readonly CircuitTable[],
  { r0Factor, branchFactor }: TakenScale,
  fitId: number,
): CircuitTable[] {
  return tables.map((table) => {
    if (table.fitId !== null && table.fitId > fitId) return table;
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
  });
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
