import { benchRestarts } from '../../fitting/ageing/benchRestarts.ts';
import { cleanSeries } from '../../fitting/ageing/cleanSeries.ts';
import { type Forecast, forecastLimit, reachedBy } from '../../fitting/ageing/forecast.ts';
import { limitCrossing } from '../../fitting/ageing/limitCrossing.ts';
import type { FinishedCell, LotCell } from '../../fitting/ageing/lotForecast.ts';
import { prepareSeries } from '../../fitting/ageing/prepareSeries.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedPath } from '../support/required.ts';

/** Levels whose coverage is counted. */
export const LEVELS = [0.5, 0.8, 0.95];
const THRESHOLD_AH = 0.88;
const RATED_AH = 1.1;

/** One forecast from part of a life, against what came. */
export interface CalibrationCase {
  readonly cell: string;
  readonly life: number;
  readonly forecast: Forecast;
  /** (forecast − life)/life; null where there was no forecast. */
  readonly error: number | null;
  /** Position of the real life in the forecast's distribution, 0…1. */
  readonly position: number | null;
}

/** All cells at one share of life, with or without the others as prior. */
export interface CalibrationRow {
  readonly share: number;
  readonly lotPrior: boolean;
  readonly cases: readonly CalibrationCase[];
  /** Share of cells within each of LEVELS; a missing forecast counts as outside. */
  readonly coverage: readonly number[];
  readonly medianError: number;
}

/**
 * Forecasts each of the 27 cells that started new from the first part of its life, and compares. Cells that carry on from
 * another campaign are left out. With the lot as prior, the cell itself is never in it, and nothing after
 * its own cut is used of it; restarts of the bench are found from what was known by then.
 *
 * Data: K. A. Severson et al., Nature Energy 4 (2019) 383, doi:10.1038/s41560-019-0356-8.
 */
export function calibrate(shares: readonly number[], lotPrior: boolean): CalibrationRow[] {
  const cells = readCells();
  const restarts = benchRestarts(
    cells.map(({ x, y }) => ({ x, clean: cleanSeries(x, y, 'capacity', { rated: RATED_AH }) })),
  );
  const prepare = (cell: string, x: Float64Array, y: Float64Array): LotCell => {
    const known = restarts.filter((restart) => restart <= x[x.length - 1]);
    const series = prepareSeries(x, y, 'capacity', known, { rated: RATED_AH });
    if (series.points === null || series.initial === null) throw new Error(`${cell} has no points`);
    return {
      cell,
      points: series.points,
      smooth: series.smooth,
      initial: series.initial,
      threshold: THRESHOLD_AH,
    };
  };
  const finished: FinishedCell[] = cells.map(({ cell, x, y, life }) => ({ ...prepare(cell, x, y), life }));
  return shares.map((share) => {
    const cases = cells.map(({ cell, x, y, life }): CalibrationCase => {
      const cut = Math.floor(share * life);
      const young = prepare(cell, x.subarray(0, cut), y.subarray(0, cut));
      const forecast = forecastLimit(young, lotPrior ? finished : [], 'below', { levels: LEVELS });
      const error = forecast.value === null ? null : forecast.value / life - 1;
      return { cell, life, forecast, error, position: error === null ? null : reachedBy(forecast, life) };
    });
    return {
      share,
      lotPrior,
      cases,
      coverage: LEVELS.map((level) => coverageOf(cases, level)),
      medianError: medianError(cases),
    };
  });
}

function coverageOf(cases: readonly CalibrationCase[], level: number): number {
  const inside = cases.filter(({ position }) => position !== null && Math.abs(position - 0.5) <= level / 2);
  return inside.length / cases.length;
}

/** Median of |error|; a missing forecast counts as infinitely wrong. */
function medianError(cases: readonly CalibrationCase[]): number {
  const errors = cases
    .map(({ error }) => (error === null ? Infinity : Math.abs(error)))
    .sort((a, b) => a - b);
  return errors[errors.length >> 1];
}

/** The cells that started new, with the source's cycle life. */
export function readCells(): { cell: string; x: Float64Array; y: Float64Array; life: number }[] {
  const folder = 'datasets/lfp-fast-charge';
  const about = readCsv(sharedPath(`${folder}/cells.csv`));
  const lives = new Map(about.rows.filter((row) => row[9] === '').map((row) => [row[0], Number(row[6])]));
  const groups = groupRows(readCsv(sharedPath(`${folder}/cycle_summary.csv`)).rows, 0);
  return [...groups].flatMap(([cell, rows]) => {
    const life = lives.get(cell);
    return life === undefined ? [] : [{ cell, x: numbers(rows, 1), y: numbers(rows, 2), life }];
  });
}

/**
 * The same for cells whose capacity recovers after rests, each alone, to several limits (shares of the first measured
 * capacity) that it reached after at least 30 runs. Data: B. Saha and K. Goebel, NASA Ames Prognostics Data Repository
 * (2007).
 */
export function calibrateRecovering(shares: readonly number[]): CalibrationRow[] {
  const table = readCsv(sharedPath('datasets/nasa-pcoe/discharge_capacity.csv'));
  const targets = [...groupRows(table.rows, 0)].flatMap(([cell, rows]) => {
    const x = numbers(rows, 1);
    const y = numbers(rows, 8);
    const whole = prepareSeries(x, y, 'capacity', [], { rated: 2 });
    return [0.9, 0.85, 0.8, 0.75, 0.7].flatMap((part) => {
      const threshold = part * (whole.firstMeasured ?? Number.NaN);
      const life = limitCrossing(whole.clean.x, whole.clean.y, threshold, 'below').crossedAt;
      return life === null || life < 30 ? [] : [{ cell, x, y, threshold, life }];
    });
  });
  return shares.map((share) => {
    const cases = targets.flatMap(({ cell, x, y, threshold, life }): CalibrationCase[] => {
      const cut = x.findIndex((at) => at > share * life);
      const series = prepareSeries(x.subarray(0, cut), y.subarray(0, cut), 'capacity', [], { rated: 2 });
      const { points, smooth, initial } = series;
      // A cell that has failed by then has reached its limit: nothing is forecast of it.
      if (points === null || initial === null || series.leftOut.some(({ reason }) => reason === 'failed'))
        return [];
      const forecast = forecastLimit({ cell, points, smooth, initial, threshold }, [], 'below', {
        levels: LEVELS,
      });
      const error = forecast.value === null ? null : forecast.value / life - 1;
      return [{ cell, life, forecast, error, position: error === null ? null : reachedBy(forecast, life) }];
    });
    const coverage = LEVELS.map((level) => coverageOf(cases, level));
    return { share, lotPrior: false, cases, coverage, medianError: medianError(cases) };
  });
}
