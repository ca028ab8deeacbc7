import type { RowBlock } from '../store/chunks/rowBlock.ts';
import type { RecordPlan } from './recordPlan.ts';

/** Rows gathered before they are checked and handed on: four columns fit a core's second-level cache. */
export const stride = 2048;

const powersOfTen = Float64Array.from({ length: 23 }, (_, i) => Number(`1e${i}`));

/**
 * The number columns of the rows gathered so far. A column stays integers with one number of decimals as long as all its
 * values allow it (`decimals[slot]` ≥ 0); from the first value that does not, it is values made one by one (-1).
 */
export class GatheredRows {
  readonly values: Float64Array;
  readonly integers: Int32Array;
  /** By number column: decimals of the gathered rows, -1 where they differ or a value went the slow way. */
  readonly decimals: Int32Array;
  readonly block: RowBlock;
  /** By number column: the unit as a power of ten to divide by, and as a factor. */
  private readonly exponent: Int32Array;
  private readonly multiply: Float64Array;
  /** By number column: whether the integers are those of the values in the unit they are kept in. */
  private readonly plain: readonly boolean[];

  constructor(numbers: RecordPlan['numbers']) {
    this.values = new Float64Array(numbers.length * stride);
    this.integers = new Int32Array(numbers.length * stride);
    this.decimals = new Int32Array(numbers.length);
    this.block = { stride, values: this.values, integers: this.integers, decimals: this.decimals };
    this.multiply = Float64Array.from(numbers, (column) => column.unit?.multiply ?? 1);
    this.exponent = Int32Array.from(numbers, (column) => Math.round(Math.log10(column.unit?.divide ?? 1)));
    this.plain = numbers.map(({ unit }) => (unit?.multiply ?? 1) === 1 && (unit?.add ?? 0) === 0);
  }

  /** The value of `integer / 10^places` in the unit the column is kept in. */
  quotient(slot: number, integer: number, places: number, negative: boolean): number {
    const value = (integer * this.multiply[slot]) / powersOfTen[places + this.exponent[slot]];
    return negative && value === 0 ? -0 : value;
  }

  /** Turns the integers of a column into values; from then on its values are made one by one. */
  divide(slot: number, count: number): void {
    const { values, integers } = this;
    const factor = this.multiply[slot];
    const divisor = powersOfTen[this.decimals[slot] + this.exponent[slot]];
    const start = slot * stride;
    if (factor === 1) for (let i = start; i < start + count; i++) values[i] = integers[i] / divisor;
    else for (let i = start; i < start + count; i++) values[i] = (integers[i] * factor) / divisor;
    this.decimals[slot] = -1;
  }

  /** Makes the values of all columns; `decimals` says afterwards where `block` has integers beside them. */
  settle(count: number): void {
    for (let slot = 0; slot < this.decimals.length; slot++) {
      const places = this.decimals[slot];
      if (places < 0) continue;
      this.divide(slot, count);
      if (this.plain[slot]) this.decimals[slot] = places + this.exponent[slot];
    }
  }

  /** Moves row `from` to the beginning, as it was gathered: with the decimals it had before the rows were settled. */
  keep(from: number, decimals: Int32Array): void {
    for (let slot = 0; slot < decimals.length; slot++) {
      this.decimals[slot] = decimals[slot];
      this.values[slot * stride] = this.values[slot * stride + from];
      this.integers[slot * stride] = this.integers[slot * stride + from];
    }
  }
}
