import type { ImportOptions, ImportPreview } from '../../contract/import.ts';
import { bufferSource } from '../../import/byteSource.ts';
import type { TableHead } from '../../import/dialect.ts';
import { findFileKind } from '../../import/fileKind.ts';
import { headerFingerprint } from '../../import/fingerprint.ts';
import { needsWholeFile } from '../../import/formats/textSource.ts';
import { preambleFields } from '../../import/preambleFields.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import type { RunSummary } from '../../import/runSummary.ts';
import { signVerdict } from '../../import/runSummary.ts';
import { openTable } from '../../import/streamRecord.ts';
import { proposeColumnMap } from '../../store/columnMaps.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import { findSameBytes, refusedAsTaken } from './importFile.ts';
import type { ImportContext, TakenContent } from './importTarget.ts';
import { findLotOfImport } from './lotOfImport.ts';
import { NameDoesNotFit, nameParts, nothingInName } from './nameParts.ts';
import { readContent } from './readContent.ts';
import { readingOf } from './readingOf.ts';
import { withOtherCells } from './wholeCells.ts';

const textsShown = 8;
const runsShown = 200;

/**
 * What an import would make of a file, by the import's own reading and without storing anything.
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
  const lineEnd = beginning.includes(10) ? 10 : 13;
  const bytes =
    whole || needsWholeFile(beginning)
      ? beginning
      : beginning.subarray(0, beginning.lastIndexOf(lineEnd) + 1);
  const preview = emptyPreview(fileName, beginning.length);
  preview.creates.lot = asked.lot ?? null;
  let head: TableHead | null = null;
  try {
    const opened = await openTable(bufferSource(bytes), asked);
    head = opened.head;
    preview.dialect = { ...head.dialect, preamble: [...head.dialect.preamble] };
    preview.header = [...head.header];
    preview.firstTexts = head.firstRows.slice(0, textsShown).map((row) => [...row]);
    preview.preamble = preambleFields(head.dialect.preamble);
    preview.fingerprint = headerFingerprint(head.header);
    const proposed =
      asked.columnMap === undefined ? await proposeColumnMap(context.store, preview.fingerprint) : null;
    preview.proposedMap = proposed?.name ?? null;
    const options = await readingOf(
      context.store,
      proposed === null ? asked : { ...asked, columnMap: proposed.name },
    );
    preview.kind = options.kind ?? findFileKind(head, options.columns);
    const lot = await findLotOfImport(context.store, options);
    const content = await readContent(
      {
        context,
        options,
        name: fileName,
        lotId: lot?.id ?? null,
        looking: true,
        limits: lot === null ? {} : await findPlausibleLimits(context.store, lot.id),
        at: '',
        fromName: await nameFitting(context, fileName, options.namePattern),
        onProgress: () => {},
      },
      opened,
      preview.kind,
    );
    describe(preview, content);
    const same = whole ? await findSameBytes(context.store, content, asked.again === true) : null;
    if (same !== null) preview.refusal = refusedAsTaken(same).refusal;
  } catch (error) {
    if (!(error instanceof RefusedFile)) throw error;
    preview.refusal = (head === null ? error : withOtherCells(error, head, asked)).refusal;
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
    unusedColumns: [],
    preamble: [],
    firstRows: [],
    firstTexts: [],
    runs: [],
    steps: [],
    signCheck: null,
    picture: [],
    creates: { lot: null, cells: [], tests: 0, measurements: 0, stack: null },
    warnings: [],
    refusal: null,
  };
}

function describe(preview: ImportPreview, content: TakenContent): void {
  const { report, tests, measurements } = content;
  preview.sha256 = content.sha256;
  preview.mapping = report.mapping;
  preview.unusedColumns = report.unusedColumns;
  preview.warnings.push(...report.warnings);
  preview.runs = report.runs
    .slice(0, runsShown)
    .map((run) => ({ ...run, cell: run.cell === '' ? null : run.cell }));
  const named = [...(content.serials ?? []), ...[...tests, ...measurements].map(({ serial }) => serial)];
  preview.creates.cells = [...new Set(named)].filter((serial) => serial !== '');
  preview.creates.tests = tests.length;
  preview.creates.measurements = measurements.length;
  preview.creates.stack = content.stackLog?.stackName ?? null;
  if (content.stackLog === null)
    preview.warnings.push('nothing says which stack this log is of: give its name');
  if (named.some((serial) => serial === ''))
    preview.warnings.push('this file does not name its cell: enter the serial');
  preview.firstRows = content.rows?.firstRows ?? [];
  preview.picture = content.rows?.picture ?? [];
  if (content.summaries !== undefined) describeSteps(preview, content.summaries);
  else
    preview.steps = (tests[0]?.steps ?? []).slice(0, runsShown).map((step) => ({
      kind: step.mode,
      startS: step.startTimeS,
      endS: step.startTimeS + step.durationS,
      currentA: step.meanCurrentA ?? 0,
    }));
}

/** The steps of the first run, and whether the current's sign fits the voltage in all. */
function describeSteps(preview: ImportPreview, summaries: readonly RunSummary[]): void {
  preview.steps = (summaries[0]?.stretches ?? []).map(({ kind, startS, endS, meanCurrentA }) => ({
    kind,
    startS,
    endS,
    currentA: meanCurrentA,
  }));
  const steps = summaries.reduce((sum, { stepsLookedAt }) => sum + stepsLookedAt, 0);
  const against = summaries.reduce((sum, { stepsAgainst }) => sum + stepsAgainst, 0);
  preview.signCheck = { verdict: signVerdict(steps, against), steps, against };
}

/** A pattern that cannot be used is a fault of the request; a name that does not fit it is shown, not refused. */
async function nameFitting(context: ImportContext, fileName: string, pattern: string | undefined) {
  try {
    return await nameParts(context.store, fileName, pattern);
  } catch (error) {
    if (error instanceof NameDoesNotFit) return nothingInName;
    throw error;
  }
}
