import type { ExportFormat, ExportSubjectKind } from '../../../../server/contract/exports.ts';
import { say } from '../../words/i18n.ts';

interface FormatWords {
  readonly name: string;
  readonly why: string;
}

/** What each format is for, in plain words. */
export const formatNames: Readonly<Record<ExportFormat, FormatWords>> = {
  'parameters-json': {
    name: say('exports.parametersJson'),
    why: say('exports.everyParameterWithUnitUncertaintyAnd'),
  },
  'parameters-compact-json': {
    name: say('exports.parametersCompactJson'),
    why: say('exports.theTablesAndKeyValuesWithout'),
  },
  'csv-package': {
    name: say('exports.tablesCsvPackage'),
    why: say('exports.tablesForSpreadsheetsAndNotebooksWith'),
  },
  'spice-subcircuit': {
    name: say('exports.circuitSpice'),
    why: say('exports.theFittedCircuitModelAsA'),
  },
  'spice-test-bench': {
    name: say('exports.circuitWithAChargeSpice'),
    why: say('exports.theCircuitWithAChargeAround'),
  },
  'c-header': {
    name: say('exports.tablesForFirmwareCHeader'),
    why: say('exports.ocvAndResistanceTablesAsConstants'),
  },
  'charge-profile-csv': {
    name: say('exports.chargeProfileCsv'),
    why: say('exports.currentAndVoltageOverTimeOf'),
  },
  'record-parquet': { name: say('exports.recordParquet'), why: say('exports.allSamplesCompactAndExact') },
  'record-csv': { name: say('exports.recordCsv'), why: say('exports.allSamplesAsText') },
};

export const subjectNames: Readonly<Record<ExportSubjectKind, string>> = {
  cell: say('exports.aCell'),
  pair: say('exports.aPair'),
  stack: say('exports.aStack'),
  lot: say('exports.aLot'),
  'cell-type': say('exports.aCellType'),
  test: say('exports.aTest'),
  'charge-study': say('exports.aChargeStudy'),
  pairing: say('exports.aPairing'),
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
