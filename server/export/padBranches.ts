import type { CircuitTable } from '../contract/parameterSet.ts';

/** A row of a table as plain numbers. */
export interface PlainRow {
  readonly soc: number;
  readonly r0: number;
  readonly branches: readonly { readonly r: number; readonly tau: number }[];
}

/**
 * The checked tables as plain numbers, every row with the same number of branches: a missing one gets resistance 0 and
 * the time constant of the nearest row that has it, so that each row still is exactly the model that was fitted there.
 */
export function padBranches(tables: readonly CircuitTable[]): {
  tables: PlainRow[][];
  branchCount: number;
  paddedSoc: number[];
} {
  const rows = tables.flatMap((table) => table.rows);
  const branchCount = Math.max(...rows.map((row) => row.branches.length));
  const paddedSoc = new Set<number>();
  const plain = tables.map((table) =>
    table.rows.map((row): PlainRow => {
      if (row.branches.length < branchCount) paddedSoc.add(row.soc);
      const branches = Array.from({ length: branchCount }, (_, j) => {
        const own = row.branches[j];
        if (own !== undefined) return { r: own.r.value ?? 0, tau: own.tau.value ?? 0 };
        const donors = rows.filter((other) => other.branches.length > j);
        donors.sort((a, b) => Math.abs(a.soc - row.soc) - Math.abs(b.soc - row.soc));
        return { r: 0, tau: donors[0].branches[j].tau.value ?? 0 };
      });
      return { soc: row.soc, r0: row.r0.value ?? 0, branches };
    }),
  );
  return { tables: plain, branchCount, paddedSoc: [...paddedSoc].sort((a, b) => a - b) };
}
