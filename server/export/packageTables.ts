import type { ParameterSet } from '../contract/parameterSet.ts';
import { cellsTable, measurementsTable } from './cellTables.ts';
import { openCircuitTable, tablesOverSocTable } from './circuitTables.ts';
import { ageingTable, pairCellsTable, pairsTable } from './lifeTables.ts';
import { filesTable, fitsTable } from './originTables.ts';
import type { PackageTable } from './packageTable.ts';

/** All tables of a parameter set, always the same ones in the same order; a table may be empty. */
export function packageTables(set: ParameterSet): PackageTable[] {
  return [
    cellsTable(set),
    measurementsTable(set),
    fitsTable(set),
    tablesOverSocTable(set),
    openCircuitTable(set),
    ageingTable(set),
    pairsTable(set),
    pairCellsTable(set),
    filesTable(set),
  ];
}
