import type { ImportReport } from '../../contract/import.ts';
import type { TestKind } from '../../contract/tests.ts';
import { storageRefusal } from '../../errors.ts';
import { cellInPreamble, preambleFields } from '../../import/preambleFields.ts';
import type { RecordPlan } from '../../import/recordPlan.ts';
import { hasInstants, planRecord, recordMapping } from '../../import/recordPlan.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import type { KeyValue, RunSink } from '../../import/runSink.ts';
import { kindOfRuns, RunSummary, signVerdict } from '../../import/runSummary.ts';
import { startInPreamble } from '../../import/startInPreamble.ts';
import type { OpenedTable, StreamedRecord } from '../../import/streamRecord.ts';
import { streamRows } from '../../import/streamRecord.ts';
import type { StoredColumn } from '../../store/records.ts';
import type { StagedRecord } from '../../store/stagedRecords.ts';
import { StagedRecords } from '../../store/stagedRecords.ts';
import type { ImportTarget, TakenContent } from './importTarget.ts';
import { LookedAtRows, type RecordStage } from './recordStage.ts';
import type { TakenTest } from './takenFile.ts';

interface RunFacts {
  readonly key: readonly KeyValue[];
  readonly serial: string;
  /** Lines of the file, 1 for the first, as refusals count them. */
  readonly firstRow: number;
  lastRow: number;
  readonly originS: number;
  readonly summary: RunSummary;
}

/** Reads a record file into staged records, in constant memory. */
export async function importRecord(target: ImportTarget, opened: OpenedTable): Promise<TakenContent> {
  const plan = planRecord(opened.head, target.options);
  const columns = storedColumns(plan);
  const place = (role: string): number => plan.numbers.findIndex(({ mapping }) => mapping.role === role);
  const looked = target.looking
    ? new LookedAtRows(columns.length, place('voltage'), place('current'))
    : undefined;
  const staged: RecordStage = looked ?? new StagedRecords(target.context.store, columns, target.at);
  const facts: RunFacts[] = [];
  try {
    const streamed = await streamRows(
      opened,
      plan,
      { limits: target.limits, onProgress: target.onProgress, afterData: target.options.afterData },
      stagingSink(target, plan, staged, facts),
    );
    const taken = content(target, plan, columns, streamed, await staged.finish(), facts, async () =>
      dropQuietly(staged),
    );
    return { ...taken, rows: looked, summaries: facts.map(({ summary }) => summary) };
  } catch (error) {
    await dropQuietly(staged);
    throw error;
  }
}

/** Where the disk is full even removing may fail; the next start sweeps, and the first error is the one to tell. */
async function dropQuietly(staged: RecordStage): Promise<void> {
  try {
    await staged.drop();
  } catch (error) {
    if (storageRefusal(error) === null) throw error;
  }
}

function stagingSink(
  target: ImportTarget,
  plan: RecordPlan,
  staged: RecordStage,
  facts: RunFacts[],
): RunSink {
  const place = (role: string): number => plan.numbers.findIndex(({ mapping }) => mapping.role === role);
  const voltage = place('voltage');
  const current = place('current');
  return {
    begin(run, key, firstLine, _dataRow, originS) {
      const serial = serialOf(target, plan, key, firstLine);
      facts.push({
        key,
        serial,
        firstRow: firstLine,
        lastRow: firstLine,
        originS,
        summary: new RunSummary(),
      });
      staged.begin(run);
    },
    rows(run, block, from, to, line) {
      const { values, stride } = block;
      facts[run].lastRow = line + to - from - 1;
      facts[run].summary.take(values, 0, voltage * stride, current * stride, from, to);
      staged.rows(run, block, from, to);
    },
    settle: async () => staged.settle(),
  };
}

/** Columns as they are stored; a name that is there twice gets a number. */
export function storedColumns(plan: RecordPlan): StoredColumn[] {
  const used = new Set<string>();
  return plan.numbers.map(({ mapping }) => {
    const role = mapping.role as StoredColumn['role'];
    const wanted = role === 'extra' ? mapping.source : role;
    let name = wanted;
    for (let i = 2; used.has(name); i++) name = `${wanted} ${i}`;
    used.add(name);
    return { role, name, unit: mapping.keptUnit ?? '' };
  });
}

function serialOf(target: ImportTarget, plan: RecordPlan, key: readonly KeyValue[], line: number): string {
  const column = plan.keys.find(({ role }) => role === 'cell')?.source;
  const serial =
    key.find((part) => part.column === column)?.value ??
    target.options.cell ??
    target.fromName.cell ??
    cellInPreamble(preambleFields(plan.dialect.preamble));
  if (serial !== undefined && serial !== null && serial !== '') return serial;
  if (target.looking) return '';
  throw new RefusedFile({
    code: 'missing-cell',
    row: line,
    column: column ?? null,
    reason: 'Nothing says which cell this is a record of',
    expected: 'Give its serial with --cell SERIAL, by a name pattern, or in a column such as cell_id',
  });
}

/** Written by the times themselves, or above the header for the file's only run. */
function startOf(plan: RecordPlan, run: RunFacts, runCount: number): string | null {
  if (hasInstants(plan)) return new Date(run.originS * 1000).toISOString();
  return runCount === 1 ? startInPreamble(plan.dialect.preamble) : null;
}

function content(
  target: ImportTarget,
  plan: RecordPlan,
  columns: readonly StoredColumn[],
  streamed: StreamedRecord,
  records: readonly StagedRecord[],
  facts: readonly RunFacts[],
  drop: () => Promise<void>,
): TakenContent {
  const { options, fromName } = target;
  const together = options.runsTogether === true;
  const kinds = together ? kindsTogether(facts) : facts.map(({ summary }) => summary.kind());
  const tests = facts.map((run, i): TakenTest => {
    return {
      serial: run.serial,
      kind: options.testKind ?? fromName.testKind ?? kinds[i],
      together,
      label: options.label ?? fromName.label ?? runLabel(plan, run.key),
      startedAt: startOf(plan, run, facts.length),
      temperatureC: options.temperatureC ?? fromName.temperatureC,
      startSoc: options.startSoc ?? fromName.startSoc,
      cycle: cycleOf(run.key),
      firstRow: run.firstRow,
      lastRow: run.lastRow,
      record: records[i],
      steps: [],
    };
  });
  const report: ImportReport = {
    sourceFileId: null,
    fileName: target.name,
    state: 'taken',
    kind: 'record',
    sha256: streamed.sha256,
    bytes: streamed.byteCount,
    rowCount: streamed.rowCount,
    dialect: { ...plan.dialect, preamble: [...plan.dialect.preamble] },
    mapping: recordMapping(plan),
    unusedColumns: plan.unused.map((column) => ({ column, reason: 'not-recognised' })),
    preamble: preambleFields(plan.dialect.preamble),
    runs: tests.map((test, i) => ({
      key: [...facts[i].key],
      cell: test.serial,
      testKind: test.kind,
      rowCount: records[i].rowCount,
      firstRow: test.firstRow,
      durationS: records[i].durationS,
      testId: null,
    })),
    cells: [],
    cellsCreated: 0,
    measurementsCreated: 0,
    stackLogId: null,
    cellReports: [],
    warnings: [...streamed.warnings, ...signWarnings(facts)],
    refusal: null,
  };
  return {
    sha256: streamed.sha256,
    bytes: streamed.byteCount,
    kind: 'record',
    rowCount: streamed.rowCount,
    columns,
    tests,
    measurements: [],
    notes: new Map(),
    report,
    drop,
  };
}

/** What the runs of each cell look like as one record. */
function kindsTogether(facts: readonly RunFacts[]): TestKind[] {
  return facts.map(({ serial }) =>
    kindOfRuns(facts.filter((run) => run.serial === serial).map(({ summary }) => summary)),
  );
}

function runLabel(plan: RecordPlan, key: readonly KeyValue[]): string {
  const cell = plan.keys.find(({ role }) => role === 'cell')?.source;
  return key
    .filter(({ column }) => column !== cell)
    .map(({ column, value }) => `${column} ${value}`)
    .join(', ')
    .slice(0, 200);
}

/** The number of a cycle where a key column counts cycles, discharges or charges. */
function cycleOf(key: readonly KeyValue[]): number | null {
  const counted = key.find(({ column }) => /^((dis)?charge[_ ]?(index|number)|cycle.*)$/i.test(column));
  if (counted === undefined || counted.value === '') return null;
  const cycle = Number(counted.value);
  return Number.isFinite(cycle) ? cycle : null;
}

function signWarnings(facts: readonly RunFacts[]): string[] {
  let steps = 0;
  let against = 0;
  for (const { summary } of facts) {
    steps += summary.stepsLookedAt;
    against += summary.stepsAgainst;
  }
  if (signVerdict(steps, against) !== 'reversed') return [];
  return [
    `the voltage moves against the current at ${against} of ${steps} current steps: is discharge counted positive here? ` +
      'Then state the sign of the current as positive on discharge (--current-sign discharge-positive)',
  ];
}
