import type { Command } from 'commander';
import { joinRuns } from '../../fitting/records/index.ts';
import { namesSoc } from '../assess/pulse/socColumn.ts';
import { brokenRunsReason, type JoinedRuns } from '../contract/joinedRuns.ts';
import type { RecordFile } from '../import/readRecordFile.ts';
import { RefusedFile } from '../import/refusedFile.ts';

/** Options of commands that evaluate several runs of a file as one record. */
export interface TogetherFlags {
  readonly together?: boolean;
  readonly runGap?: number;
}

/** Adds the options by which runs of one cell are evaluated as one record. */
export function withTogetherOptions(command: Command, seconds: (text: string) => number): Command {
  return command
    .option('--together', 'evaluate the runs that the file holds of a cell as one record')
    .option(
      '--run-gap <s>',
      'time from the last row of a run to the first of the next, where runs do not begin with an instant; else as long as the rows lie apart there',
      seconds,
    );
}

/**
 * The runs of each cell of a file as one record.
 *
 * @param files the runs as they were read, in the file's order
 * @returns for each cell its record and how it was put together
 * @throws RefusedFile `runs-not-continuous` where a run cannot continue the one before it
 */
export function joinRunsOfCells(
  files: readonly RecordFile[],
  { runGap = null }: { readonly runGap?: number | null },
): { file: RecordFile; joined: JoinedRuns | null }[] {
  const cellOf = ({ mapping, key }: RecordFile): string => {
    const source = mapping.find(({ role }) => role === 'cell')?.source;
    return key.find(({ column }) => column === source)?.value ?? '';
  };
  return [...new Set(files.map(cellOf))].map((cell) => {
    const runs = files.filter((file) => cellOf(file) === cell);
    if (runs.length === 1) return { file: runs[0], joined: null };
    const { columns, runs: places, byInstants, broken } = joinRuns(runs, runGap);
    const labels = runs.map(({ key }) => key.map(({ column, value }) => `${column} ${value}`).join(', '));
    if (broken !== null)
      throw new RefusedFile({
        code: 'runs-not-continuous',
        row: runs[broken.run].firstLine,
        reason: brokenRunsReason(labels[broken.run], broken),
        expected: 'Leave --together out, so that each run is evaluated on its own',
      });
    const joined: JoinedRuns = {
      follow: byInstants ? 'instants' : 'end-to-end',
      gapS: runGap,
      runs: labels.map((label, k) => ({
        label,
        testId: null,
        firstRow: places[k].start,
        lastRow: places[k].end - 1,
        startTimeS: columns.timeS[places[k].start],
      })),
    };
    return {
      file: {
        ...runs[0],
        columns,
        // Of the file's other columns only the state of charge at the first row is of the whole record.
        extra: Object.fromEntries(Object.entries(runs[0].extra).filter(([name]) => namesSoc(name))),
        key: runs[0].key.filter(({ value }) => value === cell),
        rowCount: columns.timeS.length,
      },
      joined,
    };
  });
}

/** The one record that the runs of a file make. @throws RefusedFile `several-runs` where they are of several cells */
export function joinRunsOfCell(
  files: readonly RecordFile[],
  flags: TogetherFlags,
): { file: RecordFile; joined: JoinedRuns | null } {
  const cells = joinRunsOfCells(files, flags);
  if (cells.length === 1) return cells[0];
  const { key } = cells[1].file;
  throw new RefusedFile({
    code: 'several-runs',
    row: cells[1].file.firstLine,
    column: key.map(({ column }) => column).join(', '),
    value: key.map(({ value }) => value).join(', '),
    reason: `The file holds runs of ${cells.length} cells`,
    expected: `Select one cell, for example --run ${cells[0].file.key.map(({ column, value }) => `${column}=${value}`).join(',')}`,
  });
}

/** One line that says how runs were put together. */
export function joinedLine({ runs, follow, gapS }: JoinedRuns): string {
  const how =
    follow === 'instants'
      ? 'each at the instant with which it begins'
      : `end to end with ${gapS === null ? 'the interval of their rows' : `${gapS} s`} between them; what passed between them is not in the file`;
  return `${runs.length} runs were evaluated as one record, ${how}.`;
}
