import type { RowRange } from './record.ts';

export type StepKind = 'rest' | 'constant-current' | 'constant-voltage' | 'ramp';

/** A stretch of a record with one control mode. */
export interface Step extends RowRange {
  readonly kind: StepKind;
  /** Median of the settled current in A, positive on charge. */
  readonly currentA: number;
  /** Time without rows before the step in s, where out of proportion to its surroundings; else 0. */
  readonly gapBeforeS: number;
  /** True where the record's clock restarted before the step. */
  readonly clockRestarted: boolean;
}
