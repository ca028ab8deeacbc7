import type { RecordColumns } from '../../fitting/records/index.ts';
import type { RowBlock } from '../store/chunks/rowBlock.ts';
import type { ByteSource } from './byteSource.ts';
import { openFile } from './byteSource.ts';
import type { ColumnMapping } from './columnMapping.ts';
import type { Dialect } from './dialect.ts';
import type { RowFilter } from './keptLines.ts';
import type { RecordPlan } from './recordPlan.ts';
import { hasInstants, planRecord, recordMapping } from './recordPlan.ts';
import { RefusedFile } from './refusedFile.ts';
import type { KeyValue, RunSink } from './runSink.ts';
import type { RecordSourceOptions } from './streamRecord.ts';
import { openTable, streamRecord } from './streamRecord.ts';

export interface RecordFileOptions extends RecordSourceOptions {
  /** The one run to read of a file with several, by the values of its key columns, e.g. `{ run: '2' }`. */
  readonly select?: Readonly<Record<string, string>>;
}

/** One run of a file as columns, and how the file was understood. */
export interface RecordFile {
  readonly columns: RecordColumns;
  /** The file's other columns of numbers by header name, in the file's own units. NaN where a field is empty. */
  readonly extra: Readonly<Record<string, Float64Array>>;
  /** Values of the columns that tell the file's runs apart (cell, run, cycle), in the file's order. */
  readonly key: readonly KeyValue[];
  readonly mapping: readonly ColumnMapping[];
  readonly dialect: Dialect;
  readonly rowCount: number;
  /** Line of the run's first row in the file, 1-based, and its number among the data rows. */
  readonly firstLine: number;
  readonly firstRow: number;
  /** Instant of its time zero in seconds since 1970, where the file writes instants. */
  readonly startsAtS: number | null;
  readonly warnings: readonly string[];
  /** SHA-256 of the file's (unpacked) bytes, as hexadecimal digits. */
  readonly sha256: string;
}

/**
 * Reads a file that holds one record into memory.
 *
 * @param path a text table (comma, semicolon or tab, decimal point or comma), also gzipped.
 * @throws RefusedFile with row, column, value, reason and what would be right; `several-runs` where the file holds more
 *   than one run and none is selected, `unknown-run` where the selected one is not there.
 */
export async function readRecordFile(path: string, options: RecordFileOptions = {}): Promise<RecordFile> {
  const runs = await readRecordRuns(path, options);
  if (runs.length === 1) return runs[0];
  throw new RefusedFile({
    code: 'several-runs',
    row: runs[1].firstLine,
    column: runs[1].key.map(({ column }) => column).join(', '),
    value: runs[1].key.map(({ value }) => value).join(', '),
    reason: `The file holds ${runs.length} runs, distinguished by these columns`,
    expected:
      `Select one run, for example --run ${runs[0].key.map(({ column, value }) => `${column}=${value}`).join(',')}` +
      '; where they are runs of one cell, --together evaluates them as one record',
  });
}

/** As {@link readRecordFile}, for a file with any number of runs (at least one is given back). */
export async function readRecordRuns(path: string, options: RecordFileOptions = {}): Promise<RecordFile[]> {
  const only = options.select === undefined ? null : await rowsOfRun(path, options, options.select);
  const source = await openFile(path);
  try {
    return await readRuns(source, options, only);
  } catch (error) {
    // No row is of that run: all are read, to say which runs there are.
    if (only === null || !(error instanceof RefusedFile) || error.refusal.code !== 'no-rows') throw error;
    return await readAllRuns(path, options);
  } finally {
    await source.close();
  }
}

async function readAllRuns(path: string, options: RecordFileOptions): Promise<RecordFile[]> {
  const source = await openFile(path);
  try {
    return await readRuns(source, options);
  } finally {
    await source.close();
  }
}

/**
 * The rows of the run that is selected, so that the rows of others do not matter. Null where the selection is
 * by a column that tells runs apart only together with time: then all are read.
 */
async function rowsOfRun(
  path: string,
  options: RecordFileOptions,
  select: Readonly<Record<string, string>>,
): Promise<RowFilter | null> {
  const source = await openFile(path);
  try {
    const { head } = await openTable(source, options);
    const keys = new Set(planRecord(head, options).keys.map((key) => key.source));
    const wanted = Object.entries(select).map(
      ([column, value]) => [head.header.indexOf(column), value] as const,
    );
    if (Object.keys(select).some((column) => !keys.has(column))) return null;
    // One row must be there, or the refusal could not name the runs there are.
    return { head, keep: (fields) => wanted.every(([at, value]) => fields[at] === value) };
  } finally {
    await source.close();
  }
}

/** As {@link readRecordRuns}, from any source of bytes. */
export async function readRuns(
  source: ByteSource,
  options: RecordFileOptions = {},
  only: RowFilter | null = null,
): Promise<RecordFile[]> {
  let collector: RunCollector | undefined;
  const { plan, warnings, sha256 } = await streamRecord(
    source,
    options,
    (understood) => {
      collector = new RunCollector(understood);
      return collector;
    },
    only,
  );
  const runs = (collector as RunCollector).runs.map((run) => run.file(plan, warnings, sha256));
  if (options.select === undefined) return runs;
  const wanted = Object.entries(options.select);
  const selected = runs.filter((run) =>
    wanted.every(([column, value]) => run.key.some((part) => part.column === column && part.value === value)),
  );
  if (selected.length > 0) return selected;
  throw new RefusedFile({
    code: 'unknown-run',
    column: wanted.map(([column]) => column).join(', '),
    value: wanted.map(([, value]) => value).join(', '),
    reason: 'The file has no such run',
    expected: `Its runs are ${runs
      .slice(0, 20)
      .map((run) => run.key.map(({ column, value }) => `${column}=${value}`).join(' '))
      .join('; ')}${runs.length > 20 ? ' …' : ''}`,
  });
}

/** Columns of one run that grow as rows come in. */
class GrowingRun {
  private rowCount = 0;
  private readonly columns: Float64Array[];
  private readonly key: readonly KeyValue[];
  private readonly firstLine: number;
  private readonly firstRow: number;
  private readonly originS: number;

  constructor(count: number, key: readonly KeyValue[], firstLine: number, firstRow: number, originS: number) {
    this.columns = Array.from({ length: count }, () => new Float64Array(1024));
    this.key = key;
    this.firstLine = firstLine;
    this.firstRow = firstRow;
    this.originS = originS;
  }

  append({ values, stride }: RowBlock, from: number, to: number): void {
    const needed = this.rowCount + to - from;
    for (let k = 0; k < this.columns.length; k++) {
      if (needed > this.columns[k].length) {
        const grown = new Float64Array(Math.max(needed, 2 * this.columns[k].length));
        grown.set(this.columns[k].subarray(0, this.rowCount));
        this.columns[k] = grown;
      }
      this.columns[k].set(values.subarray(k * stride + from, k * stride + to), this.rowCount);
    }
    this.rowCount = needed;
  }

  file(plan: RecordPlan, warnings: readonly string[], sha256: string): RecordFile {
    const column = (role: string): Float64Array | undefined => {
      const place = plan.numbers.findIndex(({ mapping }) => mapping.role === role);
      return place < 0 ? undefined : this.columns[place].slice(0, this.rowCount);
    };
    const temperatureC = column('temperature');
    const step = column('step');
    const extra: Record<string, Float64Array> = {};
    plan.numbers.forEach(({ mapping }, k) => {
      if (mapping.role !== 'extra' && mapping.role !== 'cycle') return;
      extra[mapping.source] = this.columns[k].slice(0, this.rowCount);
    });
    return {
      columns: {
        timeS: column('time') as Float64Array,
        voltageV: column('voltage') as Float64Array,
        currentA: column('current') as Float64Array,
        ...(temperatureC === undefined ? {} : { temperatureC }),
        ...(step === undefined || step.some((value) => Number.isNaN(value)) ? {} : { step }),
      },
      extra,
      key: this.key,
      mapping: recordMapping(plan),
      dialect: plan.dialect,
      rowCount: this.rowCount,
      firstLine: this.firstLine,
      firstRow: this.firstRow,
      startsAtS: hasInstants(plan) ? this.originS : null,
      warnings,
      sha256,
    };
  }
}

class RunCollector implements RunSink {
  readonly runs: GrowingRun[] = [];
  private readonly plan: RecordPlan;

  constructor(plan: RecordPlan) {
    this.plan = plan;
  }

  begin(run: number, key: readonly KeyValue[], firstLine: number, firstRow: number, originS: number): void {
    this.runs[run] = new GrowingRun(this.plan.numbers.length, key, firstLine, firstRow, originS);
  }

  rows(run: number, block: RowBlock, from: number, to: number): void {
    this.runs[run].append(block, from, to);
  }
}
