import { type CompiledCell, ENTROPIC, heatGenerationW, lumpedTemperatureC, OCV } from '../charging/index.ts';

/** A cell along a log: current, terminal voltage and SOC by row. */
export interface DrivenRows {
  readonly timeS: Float64Array;
  readonly currentA: Float64Array;
  readonly voltageV: Float64Array;
  readonly soc: Float64Array;
}

/** Heat of a cell at each row, W, at the given temperatures (see `heatGenerationW`). */
export function drivenHeatW(
  cell: CompiledCell,
  { currentA, voltageV, soc }: DrivenRows,
  temperatureC: (row: number) => number,
): Float64Array {
  const out = new Float64Array(cell.stride);
  return currentA.map((current, row) => {
    const t = temperatureC(row);
    cell.evaluate(soc[row], t, cell.socStretch(soc[row]), cell.temperatureStretch(t), out, 0);
    return heatGenerationW(current, voltageV[row], out[OCV], t, out[ENTROPIC]);
  });
}

/**
 * Temperature of a cell along a log by its heat balance, °C: the heat of each interval is that of its first row.
 * @returns null where the model has no heat balance
 */
export function drivenTemperatureC(
  cell: CompiledCell,
  rows: DrivenRows,
  ambientC: number,
  startC: number,
): Float64Array | null {
  const { thermal } = cell.model;
  if (thermal === null) return null;
  const { timeS, currentA, voltageV, soc } = rows;
  const out = new Float64Array(cell.stride);
  const temperatureC = new Float64Array(timeS.length);
  temperatureC[0] = startC;
  for (let k = 1; k < timeS.length; k++) {
    const t = temperatureC[k - 1];
    cell.evaluate(soc[k - 1], t, cell.socStretch(soc[k - 1]), cell.temperatureStretch(t), out, 0);
    const heatW = heatGenerationW(currentA[k - 1], voltageV[k - 1], out[OCV], t, out[ENTROPIC]);
    temperatureC[k] = lumpedTemperatureC(thermal, heatW, ambientC, t, timeS[k] - timeS[k - 1]);
  }
  return temperatureC;
}
