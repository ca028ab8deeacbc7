/** A converter's efficiency: one number, or a table against the output current read by straight lines, edges held. */
export type Efficiency =
  | number
  | { readonly outputCurrentA: Float64Array; readonly efficiency: Float64Array };

/** Efficiency at an output current in amperes. */
export function efficiencyAt(efficiency: Efficiency, outputCurrentA: number): number {
  if (typeof efficiency === 'number') return efficiency;
  const { outputCurrentA: grid, efficiency: values } = efficiency;
  const last = grid.length - 1;
  if (outputCurrentA <= grid[0]) return values[0];
  if (outputCurrentA >= grid[last]) return values[last];
  let k = 0;
  while (grid[k + 1] < outputCurrentA) k++;
  return values[k] + ((outputCurrentA - grid[k]) / (grid[k + 1] - grid[k])) * (values[k + 1] - values[k]);
}

/** @throws RangeError where a value lies outside (0, 1] or the table does not ascend. */
export function checkEfficiency(name: string, efficiency: Efficiency): void {
  if (typeof efficiency === 'number') {
    if (!(efficiency > 0 && efficiency <= 1))
      throw new RangeError(`${name} is ${efficiency}; it must lie in (0, 1]`);
    return;
  }
  const { outputCurrentA: grid, efficiency: values } = efficiency;
  if (grid.length !== values.length || grid.length < 2)
    throw new RangeError(
      `${name} has ${grid.length} currents and ${values.length} efficiencies; two or more of each are needed`,
    );
  for (let i = 0; i < grid.length; i++) {
    if (i > 0 && !(grid[i] > grid[i - 1]))
      throw new RangeError(`${name}.outputCurrentA[${i}] is ${grid[i]}, not above ${grid[i - 1]} before it`);
    if (!(values[i] > 0 && values[i] <= 1))
      throw new RangeError(`${name}.efficiency[${i}] is ${values[i]}; it must lie in (0, 1]`);
  }
}
