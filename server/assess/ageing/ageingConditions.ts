/** A condition of the cycling of one cell: one figure, or several where the cell was not cycled at one. */
export interface AgeingCondition {
  readonly kind: 'temperature' | 'current' | 'voltage';
  /** In °C, A or C, V. */
  readonly value: number;
  /** Largest and smallest value over the cell's life. */
  readonly least: number;
  readonly most: number;
}

/** Conditions by the name of their column or quantity. */
export type AgeingConditions = Readonly<Record<string, AgeingCondition>>;

/** What still counts as the same condition. Common practice: a chamber holds 2.5 °C, a channel its current within a tenth. */
const SAME_TEMPERATURE_C = 2.5;
const SAME_CURRENT_SHARE = 0.1;
const SAME_VOLTAGE_V = 0.05;

/** The condition of a cell from its values over life; null where there are none. */
export function conditionOf(
  kind: AgeingCondition['kind'],
  values: readonly number[],
): AgeingCondition | null {
  const known = values.filter(Number.isFinite).sort((a, b) => a - b);
  if (known.length === 0) return null;
  // One row in twenty on either side may be a check-up or a start of the bench.
  const at = (share: number): number => known[Math.round(share * (known.length - 1))];
  return { kind, value: at(0.5), least: at(0.05), most: at(0.95) };
}

function same(kind: AgeingCondition['kind'], a: number, b: number): boolean {
  const apart = Math.abs(a - b);
  if (kind === 'temperature') return apart <= SAME_TEMPERATURE_C;
  if (kind === 'voltage') return apart <= SAME_VOLTAGE_V;
  return apart <= SAME_CURRENT_SHARE * Math.max(Math.abs(a), Math.abs(b));
}

/**
 * Whether two cells were cycled under the same conditions, as far as is known of both: each one at a single value, and those
 * the same.
 */
export function areComparable(a: AgeingConditions, b: AgeingConditions): boolean {
  return Object.entries(a).every(([name, own]) => {
    const other = b[name];
    if (other === undefined) return true;
    const steady = [own, other].every(({ kind, least, most }) => same(kind, least, most));
    return steady && same(own.kind, own.value, other.value);
  });
}
