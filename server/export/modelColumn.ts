/** One quantity at one temperature over ascending SOC. */
export interface Column {
  readonly soc: readonly number[];
  readonly values: readonly number[];
}

/** Straight line between the points; outside, the edge value or the line of the last stretch. */
export function interpolate(column: Column, z: number, outside: 'hold' | 'extend'): number {
  const { soc, values } = column;
  const last = soc.length - 1;
  const exact = soc.indexOf(z);
  if (exact >= 0) return values[exact];
  if (outside === 'hold' && z < soc[0]) return values[0];
  if (outside === 'hold' && z > soc[last]) return values[last];
  let k = 0;
  while (k < last - 1 && soc[k + 1] < z) k++;
  return values[k] + ((values[k + 1] - values[k]) * (z - soc[k])) / (soc[k + 1] - soc[k]);
}

/** States of charge closer than this are one: counted charge and capacity do not tell them apart. Common practice, no source. */
const SAME_STATE = 0.004;

/** The states of all grids, ascending; of those that are one that of the open-circuit curve stands, else the first. */
export function statesOf(ocv: readonly number[], grids: readonly (readonly number[])[]): number[] {
  const states = [...ocv];
  for (const z of grids.flat().sort((a, b) => a - b))
    if (states.every((state) => Math.abs(state - z) >= SAME_STATE)) states.push(z);
  return states.sort((a, b) => a - b);
}
