import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';
import { currentSign, fileKind, imaginarySign, readingOptions } from './readingOptions.ts';
import { testKind } from './tests.ts';

/** Why and where a file was refused. `row` is the line in the file, 1 for the first. */
export const refusal = z.object({
  code: z.string(),
  row: z.number().int().nullable(),
  column: z.string().nullable(),
  value: z.string().nullable(),
  reason: z.string(),
  expected: z.string(),
});
export type RefusalAnswer = z.infer<typeof refusal>;

/** What becomes of a file. */
export const importOptions = readingOptions.extend({
  kind: fileKind.optional().describe('Found from the header where left out'),
  lot: z.string().min(1).max(200).optional().describe('Name of the lot the cells belong to'),
  cell: z.string().min(1).max(200).optional().describe('Serial, where the file does not name its cell'),
  testKind: testKind.optional(),
  temperatureC: z.number().min(-100).max(300).optional(),
  startSoc: z.number().min(0).max(1).optional().describe('State of charge at the first row of each test'),
  label: z.string().max(200).optional(),
  stack: z.string().min(1).max(200).optional().describe('Name of the stack that a stack log is of'),
  cycle: z.number().min(0).max(1e7).optional().describe('Cycles that the stack of a stack log had behind it'),
  efc: z.number().min(0).max(1e7).optional().describe('Equivalent full cycles that it had behind it'),
  startedAt: instant.optional().describe('When a stack log begins, where the file does not say it'),
  wholeCells: z
    .boolean()
    .optional()
    .describe('Take the cells whose rows are all right, and report each of the others by its own refusal'),
  runsTogether: z
    .boolean()
    .optional()
    .describe(
      'Evaluate the runs that the file holds of a cell as one record, each kept as a test of its own',
    ),
  again: z
    .boolean()
    .optional()
    .describe('Take bytes that were taken before once more, for a cell that they were not taken for'),
  columnMap: z.string().min(1).max(200).optional().describe('Name of a saved column map'),
  namePattern: z
    .string()
    .min(1)
    .max(500)
    .optional()
    .describe('Name of a saved pattern, or the pattern itself'),
});
export type ImportOptions = z.infer<typeof importOptions>;

export const columnMapping = z.object({
  role: z.string(),
  source: z.string(),
  index: z.number().int(),
  unit: z.string().nullable(),
  unitFrom: z.enum(['header', 'units-row', 'given', 'values', 'assumed']).nullable(),
  keptUnit: z.string().nullable(),
  signTurned: z.boolean(),
});

export const dialect = z.object({
  delimiter: z.enum([',', ';', '\t', '|']),
  decimal: z.enum(['.', ',']),
  encoding: z.enum(['utf-8', 'windows-1252', 'utf-16le', 'utf-16be']),
  byteOrderMark: z.boolean(),
  lineEnd: z.enum(['lf', 'crlf']),
  preamble: z.array(z.string()),
  headerLine: z.number().int().nullable(),
  unitsLine: z.number().int().nullable(),
  firstDataLine: z.number().int(),
  quoted: z.boolean(),
});

/** A line above the header that is a name and a value, and what it can be used as. */
export const preambleField = z.object({
  name: z.string(),
  value: z.string(),
  use: z.enum(['cell', 'temperature', 'label', 'started', 'capacity']).nullable(),
});

/** Columns of the file that nothing was made of, and why. */
export const unusedColumn = z.object({
  column: z.string(),
  reason: z.enum(['not-recognised', 'unit-not-stated']),
});

/** One run as an import would take it, or took it. */
export const runSummary = z.object({
  key: z.array(z.object({ column: z.string(), value: z.string() })),
  cell: z.string().nullable(),
  testKind: testKind.nullable(),
  rowCount: z.number().int(),
  firstRow: z.number().int(),
  durationS: z.number(),
  testId: z.number().int().nullable(),
});

export const signCheck = z.object({
  verdict: z.enum(['agrees', 'reversed', 'undecided']),
  steps: z.number().int().describe('Current steps looked at'),
  against: z.number().int().describe('Steps after which the voltage moved the other way'),
});

/** What an import would make of a file, without making it. */
export const importPreview = z.object({
  fileName: z.string(),
  bytes: z.number(),
  sha256: z.string().nullable(),
  kind: fileKind.nullable(),
  dialect: dialect.nullable(),
  header: z.array(z.string()),
  fingerprint: z.string().nullable(),
  proposedMap: z.string().nullable(),
  mapping: z.array(columnMapping),
  unusedColumns: z.array(unusedColumn),
  preamble: z.array(preambleField),
  firstRows: z.array(z.array(z.number().nullable())),
  firstTexts: z.array(z.array(z.string())),
  runs: z.array(runSummary),
  steps: z.array(z.object({ kind: z.string(), startS: z.number(), endS: z.number(), currentA: z.number() })),
  signCheck: signCheck.nullable(),
  /** Time, voltage and current of rows of the first run, as understood. */
  picture: z.array(z.object({ timeS: z.number(), voltageV: z.number(), currentA: z.number() })),
  creates: z.object({
    lot: z.string().nullable(),
    cells: z.array(z.string()),
    tests: z.number().int(),
    measurements: z.number().int(),
    /** Name of the stack that a stack log would be kept with. */
    stack: z.string().nullable(),
  }),
  warnings: z.array(z.string()),
  refusal: refusal.nullable(),
});
export type ImportPreview = z.infer<typeof importPreview>;

/** What became of one cell of a file of several, where cells are taken one by one. */
export const cellReport = z.object({
  cell: z.string(),
  state: z.enum(['taken', 'refused']),
  refusal: refusal.nullable(),
});

/** What became of one file. */
export const importReport = z.object({
  sourceFileId: z.number().int().nullable(),
  fileName: z.string(),
  state: z.enum(['taken', 'refused', 'undone']),
  kind: fileKind.nullable(),
  sha256: z.string().nullable(),
  bytes: z.number(),
  rowCount: z.number().int(),
  dialect: dialect.nullable(),
  mapping: z.array(columnMapping),
  unusedColumns: z.array(unusedColumn).default([]),
  preamble: z.array(preambleField).default([]),
  runs: z.array(runSummary),
  cells: z.array(z.string()),
  cellsCreated: z.number().int(),
  measurementsCreated: z.number().int(),
  stackLogId: z.number().int().nullable().default(null).describe('The stack log that the file became'),
  cellReports: z.array(cellReport).default([]),
  warnings: z.array(z.string()),
  refusal: refusal.nullable(),
});
export type ImportReport = z.infer<typeof importReport>;

const whoAndWhen = { batch: z.string().nullable(), importedAt: z.string(), importedBy: z.string() };

/** A file that was offered, with its whole report. */
export const storedImport = importReport.extend(whoAndWhen);

/** What a list shows of a report: its counts in place of its rows, cells and remarks, of which there may be thousands. */
export const importHead = importReport
  .pick({
    fileName: true,
    kind: true,
    sha256: true,
    bytes: true,
    rowCount: true,
    cellsCreated: true,
    measurementsCreated: true,
    stackLogId: true,
    refusal: true,
  })
  .extend({ cellCount: z.int(), testCount: z.int(), warningCount: z.int() });
export type ImportHead = z.infer<typeof importHead>;

/** A file that was offered, as it is listed; its report is at its own address. */
export const listedImport = importHead.extend({
  ...importReport.pick({ sourceFileId: true, state: true }).shape,
  ...whoAndWhen,
});
export const importPage = pageOf(listedImport);
export const importQuery = pageQuery.extend({
  lotId: z.coerce.number().int().optional(),
  state: z.enum(['taken', 'refused', 'undone']).optional(),
  batch: z.string().max(100).optional(),
});

/** What undoing an import would touch. */
export const importConsequences = z.object({
  tests: z.int(),
  measurements: z.int(),
  stackLogs: z.int(),
  /** Serials of the cells that go with the import, because nothing else depends on them. */
  cellsRemoved: z.array(z.string()),
  /** Serials of the cells that stay and lose what the file brought. */
  cellsKept: z.array(z.string()),
  pairings: z.array(z.object({ id, name: z.string() })),
  stacks: z.array(z.object({ id, name: z.string() })),
  chargeStudies: z.array(z.object({ id, name: z.string() })),
  exports: z.int(),
});

/** What the address of an upload may say; the rest is in the header X-Import-Options or the field `options`. */
export const uploadQuery = z
  .object({
    name: z.string().min(1).max(300),
    lot: z.string().min(1).max(200),
    cell: z.string().min(1).max(200),
    kind: fileKind,
    testKind,
    temperatureC: z.coerce.number().min(-100).max(300),
    startSoc: z.coerce.number().min(0).max(1),
    stack: z.string().min(1).max(200),
    cycle: z.coerce.number().min(0).max(1e7),
    efc: z.coerce.number().min(0).max(1e7),
    currentSign,
    imaginarySign,
    columnMap: z.string().min(1).max(200),
    namePattern: z.string().min(1).max(500),
  })
  .partial();

export type ImportConsequences = z.infer<typeof importConsequences>;
