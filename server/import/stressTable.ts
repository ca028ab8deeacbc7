import { arrheniusTerm, powerMeanRateC } from '../../fitting/ageing/index.ts';
import { findColumn, requireColumn } from './columnChoice.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import { numberAt } from './tableQuantities.ts';

/** Stress of each cell: named terms with a unit, and their values by cell. */
export interface StressTable {
  readonly terms: readonly { readonly name: string; readonly unit: string }[];
  readonly values: ReadonlyMap<string, readonly number[]>;
}

/** Columns of a charge in two stages: rate, the state of charge at which it changes, rate. */
const twoStages = ['charge_rate_1_C', 'switch_soc_percent', 'charge_rate_2_C'] as const;

/**
 * Takes a table with one row per cell and its stress.
 *
 * @param columns to be terms as they are; `arrhenius:NAME` makes 1/(R T) of a temperature in °C. Empty: the power mean of the
 * charge rate, where the table has the columns of a charge in two stages
 * @param chargedTo state of charge up to which the two stages go, 0…1
 * @throws RefusedFile naming the column or value that cannot be taken
 */
export function readStressTable(table: TableFile, columns: readonly string[], chargedTo = 0.8): StressTable {
  const headerLine = table.dialect.headerLine;
  const cellAt = ['cell_id', 'cell', 'serial']
    .map((name) => findColumn(table.header, name))
    .find((at) => at >= 0);
  if (cellAt === undefined) {
    throw new RefusedFile({
      code: 'missing-column',
      row: headerLine,
      reason: 'No column names the cells',
      expected: 'A column named cell_id, cell or serial',
    });
  }
  const terms = columns.length > 0 ? plainTerms(table, columns) : [chargeRateTerm(table, chargedTo)];
  const values = new Map<string, readonly number[]>();
  table.rows.forEach((row, i) => {
    values.set(
      row[cellAt],
      terms.map((term) => term.read(i)),
    );
  });
  return { terms: terms.map(({ name, unit }) => ({ name, unit })), values };
}

interface Term {
  readonly name: string;
  readonly unit: string;
  read(row: number): number;
}

function plainTerms(table: TableFile, columns: readonly string[]): Term[] {
  return columns.map((text) => {
    const arrhenius = /^arrhenius:(.+)$/.exec(text);
    const at = requireColumn(table.header, arrhenius?.[1] ?? text, table.dialect.headerLine);
    const name = table.header[at];
    const read = (row: number): number => required(table, row, at);
    return arrhenius === null
      ? { name, unit: '1', read }
      : { name: `1/(R T) of ${name}`, unit: 'mol/J', read: (row) => arrheniusTerm(read(row)) };
  });
}

function chargeRateTerm(table: TableFile, chargedTo: number): Term {
  if (!(chargedTo > 0 && chargedTo <= 1))
    throw new RangeError(`chargedTo must lie between 0 and 1, got ${chargedTo}`);
  const [first, change, second] = twoStages.map((name) =>
    requireColumn(table.header, name, table.dialect.headerLine),
  );
  return {
    name: 'power-mean charge rate (cubes)',
    unit: 'C',
    read: (row) =>
      powerMeanRateC([
        {
          rateC: required(table, row, first),
          untilSoc: Math.min(required(table, row, change) / 100, chargedTo),
        },
        { rateC: required(table, row, second), untilSoc: chargedTo },
      ]),
  };
}

function required(table: TableFile, row: number, column: number): number {
  const value = numberAt(table, row, column);
  if (value !== null) return value;
  throw new RefusedFile({
    code: 'missing-value',
    row: table.lines[row],
    column: table.header[column],
    value: '',
    reason: 'The stress of this cell is missing',
    expected: 'A number in every row, or leave the cell out',
  });
}
