import {
  averageRepeats,
  benchRestarts,
  carriedOver,
  cleanSeries,
  fitAgeingModels,
  type ModelComparison,
  type PreparedSeries,
  prepareSeries,
} from '../../../fitting/ageing/index.ts';
import type { AgeingQuantityName } from '../../contract/ageingTrack.ts';
import type { AgeingConditions } from './ageingConditions.ts';

/** Series of one cell. Missing values are NaN; x may repeat (several measurements in one cycle are averaged). */
export interface AgeingInput {
  readonly cell: string;
  readonly x: Float64Array;
  readonly capacityAh: Float64Array | null;
  readonly resistanceOhm: Float64Array | null;
  /** Conditions of the cycling that are known, by name; see `comparableConditions`. */
  readonly conditions?: AgeingConditions;
}

/** One quantity of one cell while the evaluation runs. */
export interface Track {
  readonly series: PreparedSeries;
  readonly comparison: ModelComparison | null;
  readonly carriedOver: boolean;
}

/** One cell while the evaluation runs. */
export interface CellTracks {
  readonly cell: string;
  readonly conditions: AgeingConditions;
  readonly tracks: { readonly [quantity in AgeingQuantityName]: Track | null };
}

/** All series of one quantity. */
export interface PreparedLot {
  readonly series: readonly (PreparedSeries | null)[];
  readonly carried: readonly boolean[];
  readonly restarts: readonly number[];
}

/** Cleans all series of a quantity, finds restarts of the bench, and cleans again with them left out. */
export function prepareLot(
  inputs: readonly AgeingInput[],
  quantity: AgeingQuantityName,
  rated: number | null,
): PreparedLot {
  const averaged = inputs.map((input) => {
    const y = quantity === 'capacity' ? input.capacityAh : input.resistanceOhm;
    return y === null ? null : averageRepeats(input.x, y);
  });
  const first = averaged.flatMap((a) =>
    a === null ? [] : [{ x: a.x, clean: cleanSeries(a.x, a.y, quantity, { rated }) }],
  );
  const restarts = benchRestarts(first);
  const series = averaged.map((a) =>
    a === null ? null : prepareSeries(a.x, a.y, quantity, restarts, { rated }),
  );
  const carried = carriedOver(
    series.map((s) => s?.initial ?? null),
    quantity,
  );
  return { series, carried, restarts };
}

/** The series of cell `i`; null where it has none of this quantity. Its models are fitted once they are asked for. */
export function trackOf(lot: PreparedLot, i: number): Track | null {
  const series = lot.series[i];
  if (series === null) return null;
  const { points } = series;
  let fitted: ModelComparison | null = null;
  return {
    series,
    carriedOver: lot.carried[i],
    get comparison() {
      fitted ??= points === null ? null : fitAgeingModels(points);
      return fitted;
    },
  };
}
