import type { ImportOptions, ImportPreview } from '../../contract/import.ts';
import { Refusal } from '../../errors.ts';
import { bufferSource } from '../../import/byteSource.ts';
import type { TableHead } from '../../import/dialect.ts';
import { findFileKind } from '../../import/fileKind.ts';
import { headerFingerprint } from '../../import/fingerprint.ts';
import { readRows, type TableFile } from '../../import/readTableFile.ts';
import { planRecord } from '../../import/recordPlan.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import { RunSummary, signVerdict } from '../../import/runSummary.ts';
import { readSpectra } from '../../import/spectrumTable.ts';
import { readStepTable } from '../../import/stepTable.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { openTable, streamRows } from '../../import/streamRecord.ts';
import { planTable, readQuantities } from '../../import/tableQuantities.ts';
import { proposeColumnMap } from '../../store/columnMaps.ts';
import { findLotByName } from '../../store/lots.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import { spectraByCell, spectraRun } from './importSpectra.ts';
import type { ImportContext } from './importTarget.ts';
import { nameParts } from './nameParts.ts';
import { readingOf } from './readingOf.ts';

const rowsShown = 8;
const runsShown = 200;

/**
 * What an import would make of a file, from its beginning and without storing anything.
 *
 * @param beginning the file's first bytes, unpacked
 * @param whole whether they are all of it; a last line that is cut off is left out otherwise
 */
export async function previewImport(
  context: ImportContext,
  fileName: string,
  beginning: Uint8Array,
  whole: boolean,
  asked: ImportOptions,
): Promise<ImportPreview> {
  const bytes = whole ? beginning : beginning.subarray(0, beginning.lastIndexOf(10) + 1);
  const preview = emptyPreview(fileName, beginning.length);
  preview.creates.lot = asked.lot ?? null;
  let options: ImportOptions = asked;
  try {
    const opened = await openTable(bufferSource(bytes), asked);
    const { head } = opened;
    preview.dialect = { ...head.dialect, preamble: [...head.dialect.preamble] };
    preview.header = [...head.header];
    preview.firstTexts = head.firstRows.slice(0, rowsShown).map((row) => [...row]);
    preview.fingerprint = headerFingerprint(head.header);
    const proposed =
      asked.columnMap === undefined ? await proposeColumnMap(context.store, preview.fingerprint) : null;
    preview.proposedMap = proposed?.name ?? null;
    options = await readingOf(
      context.store,
      proposed === null ? asked : { ...asked, columnMap: proposed.name },
    );
    preview.kind = options.kind ?? findFileKind(head, options.columns);
    await describe(preview, context, opened, options);
  } catch (error) {
    if (!(error instanceof RefusedFile)) throw error;
    preview.refusal = error.refusal;
  }
  if (!whole) preview.warnings.push('only the beginning of the file was looked at');
  return preview;
}

function emptyPreview(fileName: string, bytes: number): ImportPreview {
  return {
    fileName,
    bytes,
    sha256: null,
    kind: null,
    dialect: null,
    header: [],
    fingerprint: null,
    proposedMap: null,
    mapping: [],
    firstRows: [],
    firstTexts: [],
    runs: [],
    steps: [],
    signCheck: null,
    creates: { lot: null, cells: [], tests: 0 },
    warnings: [],
    refusal: null,
  };
}

async function describe(
  preview: ImportPreview,
  context: ImportContext,
  opened: OpenedTable,
  options: ImportOptions,
): Promise<void> {
  if (preview.kind === 'record') return describeRecord(preview, context, opened, options);
  if (preview.kind === null) throw unknownKind(opened.head);
  const table = await readRows(opened);
  preview.sha256 = table.sha256;
  if (preview.kind === 'impedance-table')
    return describeSpectra(preview, table, options, await cellOfName(context, preview, options));
  if (preview.kind === 'step-table') {
    preview.steps = readStepTable(table)
      .slice(0, runsShown)
      .map((step) => ({
        kind: step.mode,
        startS: step.startTimeS,
        endS: step.startTimeS + step.durationS,
        currentA: step.meanCurrentA ?? 0,
      }));
    preview.creates.tests = 1;
    return;
  }
  const plan = planTable(table.header, table.units);
  const values = readQuantities(table, plan);
  preview.warnings.push(...plan.warnings);
  preview.mapping = plan.quantities.map(({ column, quantity }) => ({
    role: quantity,
    source: column.source,
    index: column.index,
    unit: column.unit?.symbol ?? null,
    unitFrom: column.unitFrom,
    keptUnit: column.unit?.kept ?? null,
    signTurned: false,
  }));
  preview.creates.cells = [...new Set(values.map(({ serial }) => serial ?? options.cell ?? ''))].filter(
    Boolean,
  );
}

function describeSpectra(
  preview: ImportPreview,
  table: TableFile,
  options: ImportOptions,
  nameCell: string | null,
): void {
  const spectra = readSpectra(table, options);
  preview.mapping = [...spectra.mapping];
  preview.warnings.push(...spectra.warnings);
  for (const [serial, sweeps] of spectraByCell(spectra.sweeps)) {
    const cell = serial ?? options.cell ?? nameCell;
    if (cell !== null) preview.creates.cells.push(cell);
    preview.creates.tests++;
    if (preview.runs.length < runsShown) preview.runs.push(spectraRun(cell, sweeps));
  }
  if (preview.creates.cells.length === 0)
    preview.warnings.push('nothing says which cell these spectra are of: give its serial');
}

async function describeRecord(
  preview: ImportPreview,
  context: ImportContext,
  opened: OpenedTable,
  options: ImportOptions,
): Promise<void> {
  const plan = planRecord(opened.head, options);
  const fromName = await safeNameParts(context, preview.fileName, options.namePattern);
  const lot = options.lot === undefined ? null : await findLotByName(context.store, options.lot);
  const place = (role: string): number => plan.numbers.findIndex(({ mapping }) => mapping.role === role);
  const [voltage, current] = [place('voltage'), place('current')];
  const cellColumn = plan.keys.find(({ role }) => role === 'cell')?.source;
  const summaries: RunSummary[] = [];
  preview.mapping = [...plan.keys, ...plan.numbers.map(({ mapping }) => mapping)];
  preview.warnings.push(...plan.warnings);
  const cells = new Set<string>();
  const streamed = await streamRows(
    opened,
    plan,
    { limits: lot === null ? {} : await findPlausibleLimits(context.store, lot.id) },
    {
      begin(run, key, _line, firstRow) {
        const cell =
          key.find(({ column }) => column === cellColumn)?.value ?? options.cell ?? fromName?.cell ?? null;
        if (cell !== null) cells.add(cell);
        summaries[run] = new RunSummary();
        preview.creates.tests++;
        if (run >= runsShown) return;
        preview.runs.push({
          key: [...key],
          cell,
          testKind: options.testKind ?? fromName?.testKind ?? null,
          rowCount: 0,
          firstRow,
          durationS: 0,
          testId: null,
        });
      },
      rows(run, { values, stride }, from, to) {
        summaries[run].take(values, 0, voltage * stride, current * stride, from, to);
        for (let i = from; i < to && preview.firstRows.length < rowsShown; i++) {
          const row = plan.numbers.map((_, k) => values[k * stride + i]);
          preview.firstRows.push(row.map((value) => (Number.isFinite(value) ? value : null)));
        }
        if (run >= runsShown) return;
        preview.runs[run].rowCount += to - from;
      },
    },
  );
  preview.sha256 = streamed.sha256;
  preview.creates.cells = [...cells];
  if (cells.size === 0) preview.warnings.push('nothing says which cell this is a record of: give its serial');
  finishRuns(preview, summaries);
}

function finishRuns(preview: ImportPreview, summaries: readonly RunSummary[]): void {
  let steps = 0;
  let against = 0;
  summaries.forEach((summary, i) => {
    const kind = summary.kind();
    steps += summary.stepsLookedAt;
    against += summary.stepsAgainst;
    const run = preview.runs[i];
    if (run === undefined) return;
    run.testKind ??= kind;
    const last = summary.stretches[summary.stretches.length - 1];
    run.durationS = last === undefined ? 0 : last.endS - summary.stretches[0].startS;
  });
  preview.steps = (summaries[0]?.stretches ?? []).map(({ kind, startS, endS, meanCurrentA }) => ({
    kind,
    startS,
    endS,
    currentA: meanCurrentA,
  }));
  const verdict = signVerdict(steps, against);
  preview.signCheck = { verdict, steps, against };
  if (verdict === 'reversed') {
    preview.warnings.push('the voltage rises while the current is negative: is the sign reversed?');
  }
}

async function cellOfName(
  context: ImportContext,
  preview: ImportPreview,
  options: ImportOptions,
): Promise<string | null> {
  return (await safeNameParts(context, preview.fileName, options.namePattern))?.cell ?? null;
}

/** A pattern that cannot be used is a fault of the request; a name that does not fit is told, not refused. */
async function safeNameParts(context: ImportContext, fileName: string, pattern: string | undefined) {
  try {
    return await nameParts(context.store, fileName, pattern);
  } catch (error) {
    if (error instanceof Refusal && error.message.includes('does not fit')) return null;
    throw error;
  }
}

function unknownKind(head: TableHead): RefusedFile {
  return new RefusedFile({
    code: 'unknown-kind',
    row: head.dialect.headerLine,
    reason: 'The header is neither that of a record nor of a table of cells, cycles, steps or impedance',
    expected: 'Say which columns are time, voltage and current, or what the file is',
  });
}
