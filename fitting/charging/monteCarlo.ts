import {
  mean,
  normalSource,
  quantileSorted,
  type RandomSource,
  standardDeviation,
} from '../statistics/index.ts';
import { hottest } from './chargeRates.ts';
import type { ChargeSetup } from './chargeSetup.ts';
import { scaleCell } from './scaleCell.ts';
import { simulateCharge } from './simulateCharge.ts';

/** Standard uncertainties of one cell; relative where the name says so. */
export interface CellUncertainty {
  readonly capacityRelative: number;
  readonly r0Relative: number;
  readonly branchRelative: number;
  /** Of the draws of R0 and of the branch resistances, −1…1: what a fit takes from one it gives to the other. */
  readonly r0BranchCorrelation: number;
  readonly ocvV: number;
  readonly startSoc: number;
  readonly startTemperatureK: number;
  readonly heatCapacityRelative: number;
  readonly heatTransferRelative: number;
}

/** What the draws say of one quantity: mean, standard deviation, and the interval of the asked level between its quantiles. */
export interface DrawnInterval {
  readonly mean: number;
  readonly standardDeviation: number;
  readonly low: number;
  readonly median: number;
  readonly high: number;
}

export interface MonteCarlo {
  readonly draws: number;
  /** Draws whose parameters left their range, or whose start lay outside the temperature window; counted, not replaced. */
  readonly refused: number;
  readonly endTimeS: DrawnInterval;
  /** By index of `setup.timesAtSoc`; null where fewer than nine in ten draws reached that SOC. */
  readonly targetTimesS: readonly (DrawnInterval | null)[];
  readonly peakTemperatureC: DrawnInterval;
  readonly worstCellVoltageV: DrawnInterval;
  readonly endSocSpread: DrawnInterval;
}

export interface MonteCarloOptions {
  readonly draws: number;
  /** Coverage of the intervals, 0.95 for 95 %. */
  readonly level: number;
  readonly random: RandomSource;
  /** Told after every draw; returning false ends the run there. */
  readonly progress?: (done: number, draws: number) => boolean;
}

/** Fewest draws that were charged for intervals to be given. */
const FEWEST = 5;

/**
 * Charges the stack again and again with its parameters drawn from normal distributions, independent but for R0 and the
 * branches (JCGM 101:2008, propagation of distributions). A start SOC is held within 0…1.
 *
 * @throws RangeError where fewer than five draws could be charged, or for a level outside 0…1.
 */
export function monteCarlo(
  setup: ChargeSetup,
  uncertainties: readonly CellUncertainty[],
  options: MonteCarloOptions,
): MonteCarlo {
  if (uncertainties.length !== setup.cells.length)
    throw new RangeError(
      `${uncertainties.length} uncertainties for ${setup.cells.length} cells; one for each is needed`,
    );
  if (!(options.level > 0 && options.level < 1))
    throw new RangeError(`level is ${options.level}; it must lie between 0 and 1`);
  const normal = normalSource(options.random);
  const columns = { end: [], peak: [], worst: [], spread: [] } as Record<
    'end' | 'peak' | 'worst' | 'spread',
    number[]
  >;
  const times: number[][] = setup.timesAtSoc.map(() => []);
  let refused = 0;
  let draws = 0;
  while (draws < options.draws) {
    draws += 1;
    const drawn = drawSetup(setup, uncertainties, normal);
    const charge = drawn === null ? null : simulateCharge(drawn);
    if (charge === null || charge.endReason === 'outside-temperature-window') refused += 1;
    else {
      columns.end.push(charge.endTimeS);
      columns.peak.push(hottest(charge));
      columns.worst.push(Math.max(...charge.cells.map((cell) => cell.peakVoltageV)));
      const socs = charge.cells.map((cell) => cell.endSoc);
      columns.spread.push(Math.max(...socs) - Math.min(...socs));
      charge.timesS.forEach((time, s) => {
        if (time !== null) times[s].push(time);
      });
    }
    if (options.progress !== undefined && !options.progress(draws, options.draws)) break;
  }
  if (columns.end.length < FEWEST)
    throw new RangeError(
      `only ${columns.end.length} of ${draws} draws could be charged; the uncertainties are too large`,
    );
  const interval = (values: number[]) => drawnInterval(values, options.level);
  return {
    draws,
    refused,
    endTimeS: interval(columns.end),
    targetTimesS: times.map((values) =>
      values.length >= 0.9 * columns.end.length ? interval(values) : null,
    ),
    peakTemperatureC: interval(columns.peak),
    worstCellVoltageV: interval(columns.worst),
    endSocSpread: interval(columns.spread),
  };
}

function drawSetup(
  setup: ChargeSetup,
  uncertainties: readonly CellUncertainty[],
  normal: RandomSource,
): ChargeSetup | null {
  let possible = true;
  const cells = setup.cells.map((charged, k) => {
    const u = uncertainties[k];
    const factor = (relative: number, draw = normal()) => {
      const value = 1 + relative * draw;
      if (!(value > 0)) possible = false;
      return value;
    };
    const capacity = factor(u.capacityRelative);
    const [first, second] = [normal(), normal()];
    const rho = u.r0BranchCorrelation;
    const change = {
      capacity,
      r0: factor(u.r0Relative, first),
      branches: factor(u.branchRelative, rho * first + Math.sqrt(1 - rho * rho) * second),
      ocvOffsetV: u.ocvV * normal(),
      heatCapacity: factor(u.heatCapacityRelative),
      heatTransfer: factor(u.heatTransferRelative),
    };
    const startSoc = Math.min(Math.max(charged.startSoc + u.startSoc * normal(), 0), 1);
    const startTemperatureC = charged.startTemperatureC + u.startTemperatureK * normal();
    if (!possible) return charged;
    const cell = scaleCell(charged.cell, change);
    const ocv = new Float64Array(cell.stride);
    cell.evaluate(
      startSoc,
      startTemperatureC,
      cell.socStretch(startSoc),
      cell.temperatureStretch(startTemperatureC),
      ocv,
      0,
    );
    if (ocv[0] >= charged.voltageLimitV) possible = false;
    return { ...charged, cell, startSoc, startTemperatureC };
  });
  return possible ? { ...setup, cells, seriesStepS: null } : null;
}

function drawnInterval(values: number[], level: number): DrawnInterval {
  const sorted = Float64Array.from(values).sort();
  return {
    mean: mean(sorted),
    standardDeviation: standardDeviation(sorted),
    low: quantileSorted(sorted, (1 - level) / 2),
    median: quantileSorted(sorted, 0.5),
    high: quantileSorted(sorted, (1 + level) / 2),
  };
}
