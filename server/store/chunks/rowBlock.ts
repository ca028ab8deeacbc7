/** Rows on their way from a parser to the packers, column by column. */
export interface RowBlock {
  /** Column `k` lies at `values[k * stride]` and, where it has integers, at `integers[k * stride]`. */
  readonly stride: number;
  readonly values: Float64Array;
  /**
   * By column: the number of decimals d where every value of the block is the float64 nearest to `integer / 10^d` and
   * none is −0; or -1 where that is not known. It saves the packer finding the integers again.
   */
  readonly decimals: Int32Array;
  readonly integers: Int32Array;
}

/** A block of ready values about whose decimals nothing is known. */
export function blockOfValues(columns: readonly Float64Array[]): RowBlock {
  const stride = columns[0]?.length ?? 0;
  const values = new Float64Array(columns.length * stride);
  columns.forEach((column, k) => {
    values.set(column, k * stride);
  });
  return { stride, values, decimals: new Int32Array(columns.length).fill(-1), integers: new Int32Array(0) };
}
