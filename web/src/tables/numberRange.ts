/** Bounds on the numbers of one column; null: open at that end. */
export interface NumberRange {
  readonly column: string;
  readonly min: number | null;
  readonly max: number | null;
}

/** `[min]..[max]@column`, as in the address; empty where it bounds nothing. */
export function rangeText({ column, min, max }: NumberRange): string {
  return min === null && max === null ? '' : `${min ?? ''}..${max ?? ''}@${column}`;
}

/** The range of an address; null where the text is none. */
export function rangeOfText(text: string): NumberRange | null {
  const found = /^(-?[\d.e+-]*?)\.\.(-?[\d.e+-]*)@(.+)$/.exec(text);
  if (found === null) return null;
  const bound = (part: string) => (part === '' || !Number.isFinite(Number(part)) ? null : Number(part));
  return { column: found[3], min: bound(found[1]), max: bound(found[2]) };
}

/** Whether a value lies within the bounds; what is not a number does not. */
export function isWithin(value: unknown, { min, max }: NumberRange): boolean {
  return typeof value === 'number' && (min === null || value >= min) && (max === null || value <= max);
}
