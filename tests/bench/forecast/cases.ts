import { existsSync } from 'node:fs';
import { forecastLimit } from '../../../fitting/ageing/forecast.ts';
import type { FinishedCell, LotCell } from '../../../fitting/ageing/lotForecast.ts';
import { prepareSeries } from '../../../fitting/ageing/prepareSeries.ts';
import { sharedPath } from '../../support/required.ts';
import { readCells } from '../ageingCalibration.ts';
import { FADE_LAWS, type FadeLaw } from './fadeLaws.ts';
import { type SimulatedCell, simulateCell } from './simulatedFade.ts';
import { UNLIKE_FLEETS, unlikeCell } from './unlikeFleets.ts';

/** One forecast to be made, and what came. */
export interface ForecastCase {
  /** Rows of the table this case counts in. */
  readonly group: string;
  readonly cell: LotCell;
  readonly finished: readonly FinishedCell[];
  readonly life: number;
  /** Share of life that the data cover. */
  readonly share: number;
}

/** Low, middle and high of an 80 % interval, against what came. */
export interface Scored {
  readonly low: number;
  readonly middle: number;
  readonly high: number;
  readonly life: number;
}

const SHARES = [0.5, 0.75, 0.9];
const LIMIT_AH = 0.88;
const RATED_AH = 1.1;

function prepared(
  cell: string,
  x: Float64Array,
  y: Float64Array,
  threshold: number,
  rated: number,
): LotCell | null {
  const { points, smooth, initial } = prepareSeries(x, y, 'capacity', [], { rated });
  return points === null || initial === null ? null : { cell, points, smooth, initial, threshold };
}

/**
 * The 27 lithium iron phosphate cells that began new (K. A. Severson et al., Nature Energy 4 (2019) 383), each from
 * 50, 75 and 90 % of its life: alone, and with the other 26 as finished experience.
 */
export function fastChargeCases(): ForecastCase[] {
  const cells = readCells();
  const finished = cells.flatMap(({ cell, x, y, life }) => {
    const whole = prepared(cell, x, y, LIMIT_AH, RATED_AH);
    return whole === null ? [] : [{ ...whole, life }];
  });
  return SHARES.flatMap((share) =>
    cells.flatMap(({ cell, x, y, life }) => {
      const cut = Math.floor(share * life);
      const young = prepared(cell, x.subarray(0, cut), y.subarray(0, cut), LIMIT_AH, RATED_AH);
      if (young === null) return [];
      const others = finished.filter((other) => other.cell !== cell);
      const at = `${100 * share} %`;
      return [
        { group: `lot of 27, from ${at}`, cell: young, finished: others, life, share },
        { group: `each alone, from ${at}`, cell: young, finished: [], life, share },
      ];
    }),
  );
}

/**
 * Simulated cells of each kind and fleet, from 50, 75 and 90 % of life; where the fade changes late, as many again that are cut between
 * the change and the end.
 *
 * @param cells of each kind of a fleet and each of the two moments
 */
export function simulatedCases(cells: number): ForecastCase[] {
  const groups = new Map<string, FadeLaw[]>();
  for (const law of FADE_LAWS) {
    const name = `${law.kind}, ${law.fleet} fleet`;
    groups.set(name, [...(groups.get(name) ?? []), law]);
  }
  return [...groups].flatMap(([group, laws]) =>
    Array.from({ length: cells }, (_, k) => k).flatMap((k): ForecastCase[] => {
      const cell = simulateCell(laws[k % laws.length], k);
      const share = SHARES[Math.floor(k / laws.length) % SHARES.length];
      const { changesAt } = cell;
      const after = changesAt === null ? null : (1 + changesAt) / 2;
      return [
        ...cutCase(group, cell, share),
        ...(after === null ? [] : cutCase(`${group}, after the change`, cell, after)),
      ];
    }),
  );
}

function cutCase(group: string, { law, x, y, life }: SimulatedCell, share: number): ForecastCase[] {
  const cut = x.findIndex((at) => at > share * life);
  const young = prepared(law.name, x.subarray(0, cut), y.subarray(0, cut), 0.8, 1);
  return young === null || young.points.x.length < 8
    ? []
    : [{ group, cell: young, finished: [], life, share }];
}

/** Cells of fleets that no setting was made for, from 50, 75 and 90 % of life. Those whose capacity falls: the baselines know no other. */
export function unlikeCases(cells: number): ForecastCase[] {
  return UNLIKE_FLEETS.filter(({ quantity }) => quantity === 'capacity').flatMap((fleet) =>
    Array.from({ length: cells }, (_, k) => k).flatMap((k): ForecastCase[] => {
      const share = SHARES[k % SHARES.length];
      const made = unlikeCell(fleet, k, share);
      if (made === null) return [];
      const cut = made.x.findIndex((at) => at > share * made.life);
      const young = prepared(fleet.name, made.x.subarray(0, cut), made.y.subarray(0, cut), 0.8, 1);
      return young === null
        ? []
        : [
            {
              group: `unlike: ${fleet.name}`,
              cell: young,
              finished: [],
              life: made.life,
              share,
            },
          ];
    }),
  );
}

/** The real cells where their data are there, and the simulated ones. */
export function allCases(cells: number): ForecastCase[] {
  const shared = existsSync(sharedPath('datasets/lfp-fast-charge/cells.csv'));
  return [...(shared ? fastChargeCases() : []), ...simulatedCases(cells), ...unlikeCases(cells)];
}

/** Our forecast of a case; an end that is open lies at 30 times the observed range, as for the baselines. */
export function ours({ cell, finished, life }: ForecastCase): Scored {
  const end = cell.points.x[cell.points.x.length - 1];
  const { value, low, high } = forecastLimit(cell, finished, 'below', { refusedBeyondRatio: 30, levels: [] });
  return { low: low ?? end, middle: value ?? 30 * end, high: high ?? 30 * end, life };
}

/** What a set of forecasts is worth. All relative to the real life. */
export interface Worth {
  readonly coverage: number;
  readonly width: number;
  readonly error: number;
  readonly bias: number;
  /** Mean interval score of T. Gneiting and A. E. Raftery (J. Am. Stat. Assoc. 102 (2007) 359), relative to life: lower is better. */
  readonly score: number;
}

const middleOf = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1];

export function worthOf(all: readonly Scored[]): Worth {
  const inside = all.filter(({ low, high, life }) => low <= life && life <= high);
  const penalty = ({ low, high, life }: Scored): number =>
    10 * (Math.max(low - life, 0) + Math.max(life - high, 0));
  return {
    coverage: inside.length / all.length,
    width: middleOf(all.map(({ low, high, life }) => (high - low) / life)),
    error: middleOf(all.map(({ middle, life }) => Math.abs(middle / life - 1))),
    bias: middleOf(all.map(({ middle, life }) => middle / life - 1)),
    score: all.reduce((sum, one) => sum + (one.high - one.low + penalty(one)) / one.life, 0) / all.length,
  };
}
