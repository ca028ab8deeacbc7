/** One cell's value in a judged column of a lot, in the column's unit. */
export interface LotValue {
  readonly cellId: number;
  readonly serial: string;
  readonly value: number;
  /** Standard uncertainty. */
  readonly uncertainty: number | null;
  /** UTC instant, ISO 8601. */
  readonly measuredAt: string | null;
  /** Positive on charge. */
  readonly currentA: number | null;
}

/** Limits that the cell type states for a column; null where there is none. */
export interface Specification {
  readonly lower: number | null;
  readonly upper: number | null;
}
