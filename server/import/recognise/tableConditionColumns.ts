import type { ColumnChoice } from '../columnChoice.ts';
import { requireColumn } from '../columnChoice.ts';
import { cycleNames } from '../fileKind.ts';
import type { NamedColumn } from '../proposeColumns.ts';
import type { TableFile } from '../readTableFile.ts';
import { countsCells, serialNames, serialNamesOfTable } from './serials.ts';

/** Names of a column that marks cells which must not be used. */
export const warningNames = /^(warning|warnings|warning sign|flag|damage|damaged)$/;

/** Names of a column that says who, or which fixture, took the reading. */
export const operatorNames = /^(operator|operator name|appraiser|inspector|fixture|fixture position)$/;

/** The column of the serials of a table, or -1; for whoever needs it before the rows are read. */
export function serialColumn(
  columns: readonly NamedColumn[],
  head: Pick<TableFile, 'header' | 'dialect'>,
  chosen: ColumnChoice = {},
): number {
  return conditionPlaces(columns, head, chosen).serialAt;
}

/** Roles of the columns that say of a row what it is, and not what was measured. */
type ConditionRole = 'cell' | 'cycle' | 'soc' | 'temperature' | 'warning' | 'operator';

/**
 * Columns that a table's rows are distinguished by, and their conditions; -1 where there is none.
 *
 * @throws RefusedFile `unknown-column` for a choice that does not fit the table
 */
export function conditionPlaces(
  columns: readonly NamedColumn[],
  table: Pick<TableFile, 'header' | 'dialect'>,
  chosen: ColumnChoice = {},
) {
  const at = (test: (column: NamedColumn) => boolean): number => columns.find(test)?.index ?? -1;
  const first = (...tests: ((column: NamedColumn) => boolean)[]): number =>
    tests.map(at).find((index) => index >= 0) ?? -1;
  const place = (role: ConditionRole, found: () => number): number => {
    const name = chosen[role];
    if (name === null) return -1;
    return name === undefined ? found() : requireColumn(table.header, name, table.dialect.headerLine);
  };
  return {
    serialAt: place('cell', () =>
      first(
        (c) => c.unit === null && serialNames.test(c.name) && !countsCells.test(c.name),
        (c) => c.unit === null && serialNames.test(c.name),
        (c) => c.unit === null && serialNamesOfTable.test(c.name),
      ),
    ),
    cycleAt: place('cycle', () =>
      first(
        (c) => c.unit === null && /^cycle/.test(c.name),
        (c) => c.name === 'discharges before',
        (c) => c.unit === null && cycleNames.test(c.name),
      ),
    ),
    socAt: place('soc', () =>
      at(
        (c) =>
          /\bsoc\b/.test(c.name) &&
          (c.unit === null || c.unit.quantity === 'fraction') &&
          /^(nominal |target )?soc\b/.test(c.name),
      ),
    ),
    temperatureAt: place('temperature', () =>
      at((c) => c.unit?.quantity === 'temperature' && !/\b(max|min)\b/.test(c.name)),
    ),
    warningAt: place('warning', () => at((c) => c.unit === null && warningNames.test(c.name))),
    operatorAt: place('operator', () => at((c) => c.unit === null && operatorNames.test(c.name))),
  };
}
