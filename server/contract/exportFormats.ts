import type { ExportFormat, ExportSubjectKind } from './exports.ts';

/** Which formats a thing can be written in. Apart from the schemas, so that a page that needs only this stays small. */
export const formatsOfSubject: Readonly<Record<ExportSubjectKind, readonly ExportFormat[]>> = {
  cell: [
    'parameters-json',
    'parameters-compact-json',
    'csv-package',
    'spice-subcircuit',
    'spice-test-bench',
    'c-header',
  ],
  pair: [
    'parameters-json',
    'parameters-compact-json',
    'csv-package',
    'spice-subcircuit',
    'spice-test-bench',
    'c-header',
  ],
  stack: [
    'parameters-json',
    'parameters-compact-json',
    'csv-package',
    'spice-subcircuit',
    'spice-test-bench',
    'c-header',
  ],
  lot: ['parameters-json', 'parameters-compact-json', 'csv-package'],
  pairing: ['parameters-json', 'parameters-compact-json', 'csv-package'],
  'cell-type': ['parameters-json', 'parameters-compact-json', 'csv-package'],
  test: ['record-parquet', 'record-csv'],
  'charge-study': ['charge-profile-csv', 'spice-subcircuit', 'spice-test-bench'],
};
