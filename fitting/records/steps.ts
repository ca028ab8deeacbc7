import type { RecordColumns } from './record.ts';

export type StepKind = 'rest' | 'constant-current' | 'constant-voltage' | 'ramp';

/** A stretch of a record with one control mode. */
export interface Step {
  readonly kind: StepKind;
  /** First row of the step. */
  readonly start: number;
  /** Row after the last one. */
  readonly end: number;
  /** Mean of the settled current in A, positive on charge. */
  readonly currentA: number;
  /** Time without rows before the step in s, where out of proportion to its surroundings; else 0. */
  readonly gapBeforeS: number;
}

/** The steps of a record in order, found from time, voltage and current alone. */
export type FindSteps = (record: RecordColumns) => readonly Step[];
