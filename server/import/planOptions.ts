import type { ColumnChoice, UnitChoice } from './columnChoice.ts';
import type { DateOrder } from './timeText.ts';

/** What is said of a record file beside what it says itself. */
export interface PlanOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** How the file signs current. Default: positive is charge. */
  readonly currentSign?: 'charge-positive' | 'discharge-positive';
  /** Order of day and month where the file's own dates leave both open. */
  readonly dateOrder?: DateOrder;
  /** How segments whose time starts again follow each other within a run. */
  readonly segments?: SegmentOptions;
  /** Columns whose change of value begins another run, instead of the proposed ones. An empty list: one run. */
  readonly runColumns?: readonly string[];
  /** Whether the file's other columns of numbers are read too. Default true. */
  readonly keepExtra?: boolean;
}

/** How segments of a record are distinguished and follow each other. */
export interface SegmentOptions {
  readonly follow: 'gap' | 'date' | 'overlap';
  /** Seconds from the last row of a segment to time zero of the next. Default 0. */
  readonly gapS?: number;
  /** Column whose change begins a segment; where time runs backwards, where left out. */
  readonly column?: string;
  /** Column of instants, for `date`. */
  readonly dateColumn?: string;
}

/** What a column of numbers can be. */
export type NumberRole = 'time' | 'voltage' | 'current' | 'temperature' | 'step' | 'cycle';
