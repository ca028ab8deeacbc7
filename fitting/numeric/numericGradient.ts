const FOURTH_ORDER_STEP = 7.400959797414051e-4;

/**
 * Gradient of a scalar function at `values` by fourth-order central differences.
 *
 * @param sizes typical size of a change of each parameter (its standard error); used where a value is 0
 */
export function numericGradient(
  quantity: (values: Float64Array) => number,
  values: ArrayLike<number>,
  sizes?: ArrayLike<number | null>,
): Float64Array {
  const at = Float64Array.from(values);
  return Float64Array.from(at, (value, j) => {
    const h = FOURTH_ORDER_STEP * (Math.abs(value) || sizes?.[j] || 1);
    const shifted = (offset: number): number => {
      at[j] = value + offset;
      const result = quantity(at);
      at[j] = value;
      return result;
    };
    const wide = shifted(h) - shifted(-h);
    const narrow = shifted(h / 2) - shifted(-h / 2);
    return (8 * narrow - wide) / (6 * h);
  });
}
