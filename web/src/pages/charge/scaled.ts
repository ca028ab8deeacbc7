/** A value in thousandths of its unit, without the last digits that multiplying adds. */
export function milli(value: number | undefined): number | null {
  return value === undefined ? null : rounded(1000 * value);
}

/** A fraction in percent, without the last digits that multiplying adds. */
export function inPercent(value: number | undefined): number | null {
  return value === undefined ? null : rounded(100 * value);
}

/** Without the last digits that multiplying adds. */
export function rounded(value: number): number {
  return Number(value.toPrecision(12));
}
