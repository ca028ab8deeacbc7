/** Why an end of an interval is missing. `open`: the region does not close on that side. */
export type IntervalReason =
  | 'open'
  | 'open-at-bound'
  | 'no-standard-error'
  | 'lower-optimum'
  | 'not-converged';

/** A two-sided confidence interval; an end that does not exist is null with a reason. */
export interface Interval {
  readonly low: number | null;
  readonly high: number | null;
  readonly lowReason: IntervalReason | null;
  readonly highReason: IntervalReason | null;
  /** Two-sided confidence, e.g. 0.95. */
  readonly level: number;
}

/** @throws RangeError unless 0 < level < 1 */
export function checkLevel(level: number): void {
  if (!(level > 0 && level < 1)) throw new RangeError(`level must lie between 0 and 1, got ${level}`);
}
