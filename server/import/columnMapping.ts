import type { NamedColumn } from './proposeColumns.ts';
import type { Unit } from './units.ts';

/** How one column of the file was taken. */
export interface ColumnMapping {
  /** What it is: a role, a quantity with its condition, or `extra` for any other column of numbers. */
  readonly role: string;
  /** Name in the header, and its place, 0 for the first. */
  readonly source: string;
  readonly index: number;
  /** Unit of the file's numbers; null where the column has none. */
  readonly unit: string | null;
  /** Who said so. `assumed`: nobody, the unit we keep was taken. */
  readonly unitFrom: 'header' | 'units-row' | 'given' | 'values' | 'assumed' | null;
  /** Unit of the values we give out: V, A, s, °C …; the file's own for `extra`. */
  readonly keptUnit: string | null;
  /** Set where the current's sign was turned round. */
  readonly signTurned: boolean;
}

/** A column as it was taken: its numbers in `unit`, kept in its canonical unit. */
export function columnMapping(
  role: ColumnMapping['role'],
  column: Pick<NamedColumn, 'source' | 'index'>,
  unit: Pick<Unit, 'symbol' | 'kept'> | null,
  unitFrom: ColumnMapping['unitFrom'],
  signTurned: boolean,
): ColumnMapping {
  return {
    role,
    source: column.source,
    index: column.index,
    unit: unit?.symbol ?? null,
    unitFrom,
    keptUnit: unit?.kept ?? null,
    signTurned,
  };
}
