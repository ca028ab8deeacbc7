import type { ExportFormat, ExportSubjectKind } from '../../../../server/contract/exports.ts';

interface FormatWords {
  readonly name: string;
  readonly why: string;
  readonly of: readonly ExportSubjectKind[];
}

/** What each format is for, in plain words, and what it can be made of. */
export const formatNames: Readonly<Record<ExportFormat, FormatWords>> = {
  'parameters-json': {
    name: 'Parameters (JSON)',
    why: 'Every parameter with unit, uncertainty and origin, for programs.',
    of: ['cell', 'pair', 'stack', 'lot', 'cell-type', 'pairing'],
  },
  'csv-package': {
    name: 'Tables (CSV package)',
    why: 'Tables for spreadsheets and notebooks, with a description of every column.',
    of: ['cell', 'pair', 'stack', 'lot', 'pairing'],
  },
  'spice-subcircuit': {
    name: 'Circuit (SPICE)',
    why: 'The fitted circuit model as a subcircuit for circuit simulators.',
    of: ['cell', 'pair', 'stack'],
  },
  'spice-test-bench': {
    name: 'Circuit with a charge (SPICE)',
    why: 'The circuit with the charge of a study around it, ready to run.',
    of: ['charge-study'],
  },
  'c-header': {
    name: 'Tables for firmware (C header)',
    why: 'OCV and resistance tables as constants for charger and gauge firmware.',
    of: ['cell', 'pair', 'stack'],
  },
  'charge-profile-csv': {
    name: 'Charge profile (CSV)',
    why: 'Current and voltage over time of a study.',
    of: ['charge-study'],
  },
  'record-parquet': { name: 'Record (Parquet)', why: 'All samples, compact and exact.', of: ['test'] },
  'record-csv': { name: 'Record (CSV)', why: 'All samples as text.', of: ['test'] },
};

export const subjectNames: Readonly<Record<ExportSubjectKind, string>> = {
  cell: 'a cell',
  pair: 'a pair',
  stack: 'a stack',
  lot: 'a lot',
  'cell-type': 'a cell type',
  test: 'a test',
  'charge-study': 'a charge study',
  pairing: 'a pairing',
};

/** Where the things of one kind are listed, and how one of them is called. */
export const subjectLists: Readonly<Partial<Record<ExportSubjectKind, string>>> = {
  cell: '/cells',
  stack: '/stacks',
  lot: '/lots',
  'cell-type': '/cell-types',
  test: '/tests',
  'charge-study': '/charge-studies',
  pairing: '/pairings',
};
