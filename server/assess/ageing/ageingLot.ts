import {
  awayFromLot,
  type GrowthAgainstLoss,
  growthAgainstLoss,
  interpolate,
  pairDrift,
} from '../../../fitting/ageing/index.ts';
import type { AgeingCell, AgeingResult } from '../../contract/ageingResult.ts';
import type { AgeingQuantityName } from '../../contract/ageingTrack.ts';
import type { CellTracks, Track } from './ageingTracks.ts';

/** What the cells say about one another. */
export interface LotAssessment {
  readonly growth: readonly GrowthAgainstLoss[];
  readonly flags: readonly AgeingCell['flags'][];
  /** Follows a pair; both cells must be there. @throws RangeError naming the cell that is not */
  drift(cells: readonly [string, string], tolerance: number): AgeingResult['pairs'][number];
}

/** Relative change since new, smoothed: loss for capacity, growth for resistance. */
function changeOf(track: Track | null): { x: Float64Array; y: Float64Array } {
  const empty = { x: new Float64Array(), y: new Float64Array() };
  if (track === null || track.series.initial === null) return empty;
  const { clean, initial } = track.series;
  return {
    x: clean.x,
    y: clean.smooth.map((value) => Math.abs(1 - value / initial) * Math.sign(1 - value / initial)),
  };
}

/** Growth against loss of each cell, cells that age away from the lot, and pairs that drift apart. */
export function assessLot(lot: readonly CellTracks[], quantity: AgeingQuantityName): LotAssessment {
  const loss = lot.map(({ tracks }) => changeOf(tracks.capacity));
  const growth = lot.map(({ tracks }) => {
    const change = changeOf(tracks.resistance);
    return { x: change.x, y: change.y.map((value) => -value) };
  });
  const fading = awayFromLot(loss);
  const rising = awayFromLot(growth);
  const flags = lot.map(({ tracks }, i) => {
    const list: AgeingCell['flags'] = [];
    if (fading[i].odd) list.push(fading[i].score > 0 ? 'ages-faster-than-lot' : 'ages-slower-than-lot');
    if (rising[i].odd) list.push('resistance-away-from-lot');
    if (tracks[quantity]?.carriedOver) list.push('carried-over');
    return list;
  });
  return {
    growth: lot.map(({ tracks }, i) =>
      tracks.resistance === null || tracks.capacity === null
        ? { slope: null, standardError: null, correlation: null, points: 0, reason: 'no-resistance' as const }
        : growthOf(loss[i], growth[i]),
    ),
    flags,
    drift: (cells, tolerance) => driftOf(lot, cells, tolerance, quantity),
  };
}

function growthOf(
  loss: { x: Float64Array; y: Float64Array },
  growth: { x: Float64Array; y: Float64Array },
): GrowthAgainstLoss {
  const pairs: [number, number][] = [];
  growth.x.forEach((x, i) => {
    const there = interpolate(loss, x);
    if (there !== null) pairs.push([there, growth.y[i]]);
  });
  return growthAgainstLoss(
    Float64Array.from(pairs, (pair) => pair[0]),
    Float64Array.from(pairs, (pair) => pair[1]),
  );
}

function driftOf(
  lot: readonly CellTracks[],
  cells: readonly [string, string],
  tolerance: number,
  quantity: AgeingQuantityName,
): AgeingResult['pairs'][number] {
  const series = cells.map((cell) => {
    const found = lot.find((one) => one.cell === cell);
    const track = found?.tracks[quantity] ?? null;
    if (track === null)
      throw new RangeError(`Pair ${cells.join(' + ')}: cell ${cell} has no ${quantity} here`);
    return { x: track.series.clean.x, y: track.series.clean.smooth };
  });
  return { cells: [cells[0], cells[1]], quantity, tolerance, ...pairDrift(series[0], series[1], tolerance) };
}
