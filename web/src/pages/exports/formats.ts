import type { ExportFormat, ExportSubjectKind } from '../../../../server/contract/exports.ts';

interface FormatWords {
  readonly name: string;
  readonly why: string;
}

/** What each format is for, in plain words. */
export const formatNames: Readonly<Record<ExportFormat, FormatWords>> = {
  'parameters-json': {
    name: 'Parameters (JSON)',
    why: 'Every parameter with unit, uncertainty and origin, for programs.',
  },
  'parameters-compact-json': {
    name: 'Parameters, compact (JSON)',
    why: 'The tables and key values without their derivation; a fraction of the size.',
  },
  'csv-package': {
    name: 'Tables (CSV package)',
    why: 'Tables for spreadsheets and notebooks, with a description of every column.',
  },
  'spice-subcircuit': {
    name: 'Circuit (SPICE)',
    why: 'The fitted circuit model as a subcircuit for circuit simulators.',
  },
  'spice-test-bench': {
    name: 'Circuit with a charge (SPICE)',
    why: 'The circuit with a charge around it, ready to run; of a study, with its charge.',
  },
  'c-header': {
    name: 'Tables for firmware (C header)',
    why: 'OCV and resistance tables as constants for charger and gauge firmware.',
  },
  'charge-profile-csv': {
    name: 'Charge profile (CSV)',
    why: 'Current and voltage over time of a study.',
  },
  'record-parquet': { name: 'Record (Parquet)', why: 'All samples, compact and exact.' },
  'record-csv': { name: 'Record (CSV)', why: 'All samples as text.' },
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

type ListPath = '/cells' | '/stacks' | '/lots' | '/cell-types' | '/tests' | '/charge-studies' | '/pairings';

/** Where the things of one kind are listed, and how one of them is called. */
export const subjectLists: Readonly<Partial<Record<ExportSubjectKind, ListPath>>> = {
  cell: '/cells',
  stack: '/stacks',
  lot: '/lots',
  'cell-type': '/cell-types',
  test: '/tests',
  'charge-study': '/charge-studies',
  pairing: '/pairings',
};
