/** One cell of the run: a value per feature of the criteria, in the features' units; null where it is missing. */
export interface CellToPair {
  readonly cell: string;
  /** Row of the table it came from, for messages. */
  readonly row: number | null;
  /** Text of a warning sign (damage noted, deep discharge, drift); such a cell is never offered. */
  readonly warningSign: string | null;
  readonly values: readonly (number | null)[];
  readonly standardUncertainties: readonly (number | null)[];
}
