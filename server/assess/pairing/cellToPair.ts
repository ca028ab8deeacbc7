/** One cell of the run: a value per feature of the criteria, in the features' units; null where it is missing. */
export interface CellToPair {
  readonly cell: string;
  /** Row of the table it came from, for messages. */
  readonly row: number | null;
  /** Text of a warning sign (damage noted, deep discharge, drift); such a cell is never offered. */
  readonly warningSign: string | null;
  /** Signs that the criteria ignore, so that the cell is offered in spite of them. */
  readonly ignoredSigns?: readonly string[];
  /** Features whose value is there but cannot be, and so does not count. */
  readonly implausible?: readonly string[];
  readonly values: readonly (number | null)[];
  readonly standardUncertainties: readonly (number | null)[];
}
