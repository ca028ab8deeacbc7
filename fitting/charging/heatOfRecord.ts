import type { RecordColumns, RowRange } from '../records/index.ts';
import { cumulativeChargeAh } from '../records/index.ts';
import { type CompiledCell, ENTROPIC, OCV } from './cellModel.ts';
import type { HeatRecord } from './fitHeatBalance.ts';
import { heatGenerationW } from './heat.ts';

/** The heat made in a cell along a stretch of a record, and what was counted on the way. */
export interface RecordHeat extends HeatRecord {
  readonly lowestSoc: number;
  readonly highestSoc: number;
  /** Share of the charge that moved while the voltage lay on the wrong side of the OCV: SOC or OCV do not fit the record. */
  readonly wrongSideShare: number;
}

/**
 * Heat of a cell at each sample of a stretch, from the measured voltage and current and the OCV of the fitted cell at the
 * counted SOC and the measured temperature (see `heatGenerationW`). Rows that share a time stamp with the row before are left out.
 *
 * @param known SOC at one row of the record, from which charge is counted both ways
 * @throws RangeError where the record has no temperature or a row lies outside it
 */
export function heatOfRecord(
  cell: CompiledCell,
  record: RecordColumns,
  rows: RowRange,
  known: { readonly row: number; readonly soc: number },
  ambientC: number,
): RecordHeat {
  const { timeS, voltageV, currentA, temperatureC } = record;
  if (temperatureC === undefined) throw new RangeError('the record has no temperature');
  if (!(rows.start >= 0 && rows.end <= timeS.length && known.row >= 0 && known.row < timeS.length))
    throw new RangeError(
      `rows ${rows.start} to ${rows.end} and ${known.row} must lie within ${timeS.length} rows`,
    );
  const movedAh = cumulativeChargeAh(record);
  const kept: number[] = [];
  for (let k = rows.start; k < rows.end; k++)
    if (kept.length === 0 || timeS[k] > timeS[kept[kept.length - 1]]) kept.push(k);
  const heatW = new Float64Array(kept.length);
  const out = new Float64Array(cell.stride);
  let [lowestSoc, highestSoc, wrong, all] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, 0];
  kept.forEach((row, k) => {
    const soc = known.soc + (movedAh[row] - movedAh[known.row]) / cell.model.capacityAh;
    const t = temperatureC[row];
    cell.evaluate(soc, t, cell.socStretch(soc), cell.temperatureStretch(t), out, 0);
    heatW[k] = heatGenerationW(currentA[row], voltageV[row], out[OCV], t, out[ENTROPIC]);
    lowestSoc = Math.min(lowestSoc, soc);
    highestSoc = Math.max(highestSoc, soc);
    const moved = k === 0 ? 0 : Math.abs(movedAh[row] - movedAh[kept[k - 1]]);
    all += moved;
    if (currentA[row] * (voltageV[row] - out[OCV]) < 0) wrong += moved;
  });
  return {
    timeS: Float64Array.from(kept, (row) => timeS[row]),
    temperatureC: Float64Array.from(kept, (row) => temperatureC[row]),
    heatW,
    ambientC,
    lowestSoc,
    highestSoc,
    wrongSideShare: all > 0 ? wrong / all : 0,
  };
}

/**
 * SOC at which the OCV of a cell is a voltage, by bisection (the OCV rises with SOC); null where it lies outside the OCV between
 * the ends of the cell's SOC grid.
 */
export function socAtOcv(cell: CompiledCell, voltageV: number, temperatureC: number): number | null {
  const out = new Float64Array(cell.stride);
  const ocvAt = (soc: number): number => {
    cell.evaluate(soc, temperatureC, cell.socStretch(soc), cell.temperatureStretch(temperatureC), out, 0);
    return out[OCV];
  };
  const { soc: grid } = cell.model;
  let [low, high] = [grid[0], grid[grid.length - 1]];
  if (!(voltageV >= ocvAt(low) && voltageV <= ocvAt(high))) return null;
  for (let pass = 0; pass < 60; pass++) {
    const middle = (low + high) / 2;
    if (ocvAt(middle) < voltageV) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
