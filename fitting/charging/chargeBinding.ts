import type { ControlLaw } from './controlLaw.ts';
import type { SupplyLimitName } from './supply.ts';

/** What can hold the current or end a charge. */
export type LimitName =
  | 'stage-current'
  | 'precharge-current'
  | 'cell-rating'
  | 'zone-current'
  | 'zone-no-charge'
  | 'cell-voltage'
  | 'zone-voltage'
  | 'stack-voltage'
  | SupplyLimitName
  | 'temperature'
  | 'rest';

export type EndReason =
  | 'end-current'
  | 'bypass-exceeds-end-current'
  | 'temperature'
  | 'outside-temperature-window'
  | 'max-duration'
  | 'bus-voltage-too-low'
  | 'bus-voltage-too-high'
  | 'supply-below-end-current'
  | 'zone-voltage-reached'
  | 'solver-stalled';

/** What binds at a moment: the law that fixes the current, the limit it comes from, and the cell that limit belongs to. */
export interface Binding {
  readonly law: ControlLaw;
  readonly limit: LimitName;
  /** Null for a limit of the whole stack or of the supply. */
  readonly cell: number | null;
  /** Path of the converter whose limit it is; null for all others. */
  readonly path: number | null;
}

/** The limit that a switch has just met: the current command, or a law by its limit and cell. */
export type MetLimit = 'command' | { readonly limit: LimitName; readonly cell: number | null };

/** Of two bindings that allow the same current: the one just met; a voltage rather than a current, because it is rising. */
export function winsTie(candidate: Binding, best: Binding, met: MetLimit | null): boolean {
  if (met === 'command') return false;
  if (met !== null && candidate.limit === met.limit && candidate.cell === met.cell) return true;
  return best.law.kind === 'current';
}
