import type { RowBlock } from '../store/chunks/rowBlock.ts';

/** A key column (cell, run, cycle) and what a row has in it. */
export interface KeyValue {
  readonly column: string;
  readonly value: string;
}

/** Where the rows of a file go. Runs are numbered in the order of their first row. */
export interface RunSink {
  /**
   * A run begins: its key values (cell, run, cycle), by column, and its first line and data row, both 1-based.
   * `originS` is the first time stamp as the file writes it: seconds since 1970 where it writes instants.
   */
  begin(run: number, key: readonly KeyValue[], firstLine: number, firstRow: number, originS: number): void;
  /** Rows `from` to `to` of a run, columns in the order of the plan's numbers; `from` is line `line`. Valid only during the call. */
  rows(run: number, block: RowBlock, from: number, to: number, line: number): void;
  /** Called between blocks of rows; the next block waits for it. */
  settle?(): Promise<void>;
}
