/** What each command does in one line: for its own help, and for the list of all commands without loading any of them. */
export const summaries = {
  evaluate: 'evaluate a file, without a database',
  'evaluate pulse': 'steps, pulses, resistances, circuit models and open-circuit curve of a record',
  'evaluate capacity': 'capacity, energy and efficiencies of the discharges and charges of a record',
  'evaluate impedance':
    '|Z| at 1 kHz, high-frequency intercept, circuit and Kramers–Kronig check of impedance spectra',
  'evaluate ageing': 'fade, resistance rise, limits and forecasts of the cells of a cycle table',
  'evaluate converter':
    'output resistance, fixed loss and efficiency of a converter from its operating points',
  'evaluate charge': 'a measured charge of a stack beside its study: residuals, fit, cable and converter',
  pair: 'pair the cells of a table (one row per cell: serial, capacity, resistance …), proven best',
  charge: 'compute the charging of a cell or a stack from a study description (JSON)',
  import: 'take records and tables into the database, each file whole or not at all',
  'column-map': 'column maps that are kept: list, export to a file, take from a file',
  watch: 'take files of a folder when they stop growing; files are never deleted',
  'cell-type': 'cell types: list, add, temperature law',
  lot: 'lots: list, add, evaluate, judge, line, gauge study',
  export: 'write parameters, a record or a planned charge in a format of another tool',
  backup: 'copy the whole database to FILE while the service may run',
  restore: 'put a backup in the place of the database; the present one is kept beside it',
  move: 'copy the whole database to another place, PostgreSQL or SQLite file, and compare everything',
  token: 'tokens for programs that ask the service',
  work: 'run the jobs of a database, beside any number of others that do and of services',
  serve: 'serve pages and API on this machine (GEMEL_PORT and GEMEL_DATA change port and folder)',
} as const;
