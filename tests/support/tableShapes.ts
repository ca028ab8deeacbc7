import type { ImportOptions } from '../../server/contract/import.ts';
import { type Grid, parquet, textOf, workbook } from './benchFiles.ts';

/** A table of one kind with the values that it holds. */
export interface TableKind {
  readonly name: string;
  readonly grid: Grid;
  /** A column of numbers. */
  readonly valueAt: number;
  readonly options: ImportOptions;
  /** Quantity and value of each measurement of the first cell, in the order in which they are stored. */
  readonly values: readonly (readonly [string, number])[];
}

/** One way in which a table is written. */
export interface TableShape {
  readonly name: string;
  readonly fileName: string;
  readonly write: (grid: Grid) => Buffer;
  /** Whether rows may have other than the header's fields, and names may be alike. */
  readonly ragged: boolean;
}

const grid = (header: readonly string[], rows: readonly (readonly string[])[]): Grid => ({
  preamble: [],
  header,
  units: null,
  rows,
  footer: [],
});

/** Tables of cells, pulses, cycles and steps; invented values. */
export function tableKinds(): TableKind[] {
  const capacity = (i: number) => (2.5 - 0.002 * i).toFixed(4);
  const ohm = (i: number) => (30 + 0.25 * i).toFixed(3);
  return [
    {
      name: 'a table of cells',
      grid: grid(
        ['Serial', 'Capacity (Ah)', 'DCIR 10 s (mOhm)', 'OCV (V)'],
        Array.from({ length: 12 }, (_, i) => [
          `T-${i + 1}`,
          capacity(i),
          ohm(i),
          (3.6 + 0.001 * i).toFixed(4),
        ]),
      ),
      valueAt: 2,
      options: {},
      values: [
        ['capacity', 2.5],
        ['resistance', 0.03],
        ['ocv', 3.6],
      ],
    },
    {
      name: 'a table of pulses',
      grid: grid(
        ['Serial', 'SOC (%)', 'R 1s (mOhm)', 'R 10s (mOhm)'],
        Array.from({ length: 12 }, (_, i) => [
          `P-${Math.floor(i / 3) + 1}`,
          String(80 - 30 * (i % 3)),
          ohm(i),
          (35 + 0.25 * i).toFixed(3),
        ]),
      ),
      valueAt: 2,
      options: {},
      values: [
        ['resistance', 0.03],
        ['resistance', 0.035],
        ['resistance', 0.03025],
        ['resistance', 0.03525],
        ['resistance', 0.0305],
        ['resistance', 0.0355],
      ],
    },
    {
      name: 'a table of cycles',
      grid: grid(
        ['Cycle', 'Charge Capacity (mAh)', 'Discharge Capacity (mAh)'],
        Array.from({ length: 12 }, (_, i) => [String(i + 1), (2510 - i).toFixed(1), (2500 - i).toFixed(1)]),
      ),
      valueAt: 2,
      options: { cell: 'Y-1' },
      values: Array.from({ length: 12 }, (_, i) => [
        ['charge-capacity', (2510 - i) / 1000] as const,
        ['capacity', (2500 - i) / 1000] as const,
      ]).flat(),
    },
    {
      name: 'a table of steps',
      grid: grid(
        ['Cycle', 'Step', 'Step Type', 'Duration (s)', 'Capacity (mAh)', 'End Voltage (V)'],
        Array.from({ length: 12 }, (_, i) => [
          String(Math.floor(i / 3) + 1),
          String(i + 1),
          ['CCCV Chg', 'Rest', 'CC DChg'][i % 3],
          ['3600.0', '600.0', '3500.0'][i % 3],
          [2510, 0, 2500 - i][i % 3].toFixed(1),
          ['4.2000', '4.1500', '2.5000'][i % 3],
        ]),
      ),
      valueAt: 4,
      options: { cell: 'Z-1' },
      // The first charge does not begin from empty, as far as the table shows.
      values: Array.from({ length: 4 }, (_, k) => [
        ...(k === 0 ? [] : [['charge-capacity', 2.51] as const]),
        ['capacity', (2500 - (3 * k + 2)) / 1000] as const,
      ]).flat(),
    },
  ];
}

/** Every way in which a table of results is written. */
export function tableShapes(): TableShape[] {
  const text = (
    name: string,
    dialect: Parameters<typeof textOf>[1],
    encode: (written: string) => Buffer = (written) => Buffer.from(written),
    change: (one: Grid) => Grid = (one) => one,
  ): TableShape => ({
    name,
    fileName: 'table.csv',
    write: (one) => encode(textOf(change(one), dialect)),
    ragged: true,
  });
  const again = (one: Grid): Grid => ({
    ...one,
    rows: one.rows.flatMap((row, i) => (i === 6 ? [[...one.header], row] : [row])),
  });
  return [
    text('plain', {}),
    text('semicolons and decimal commas', { delimiter: ';', decimal: ',' }),
    text('tabs, CR LF', { delimiter: '\t', lineEnd: '\r\n' }),
    text('lone carriage returns', { lineEnd: '\r' }),
    text('quoted', { quoted: true }),
    text('UTF-16', { delimiter: '\t' }, (written) => Buffer.from(`\uFEFF${written}`, 'utf16le')),
    text('a preamble', {}, undefined, (one) => ({ ...one, preamble: ['Bench 4', 'Operator: shift 2', ''] })),
    text('the header repeated within the rows', {}, undefined, again),
    text('comments within the rows', {}, undefined, (one) => ({
      ...one,
      rows: one.rows.flatMap((row, i) => (i === 5 ? [['# range changed'], row] : [row])),
    })),
    text('a footer', {}, undefined, (one) => ({ ...one, footer: ['', 'End of report: 12 rows'] })),
    { name: 'a spreadsheet', fileName: 'table.xlsx', write: (one) => workbook(one), ragged: false },
    { name: 'Parquet', fileName: 'table.parquet', write: parquet, ragged: false },
  ];
}
