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

/** The figures of one draw that was charged. */
export interface DrawnCharge {
  readonly endTimeS: number;
  readonly peakTemperatureC: number;
  readonly worstCellVoltageV: number;
  readonly endSocSpread: number;
  /** By index of `setup.timesAtSoc`; null where that SOC was not reached. */
  readonly targetTimesS: readonly (number | null)[];
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
/** Normal deviates that each draw takes for each cell. */
const DEVIATES = 8;

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
  const { draws, random, progress } = options;
  const drawn = drawCharges(setup, uncertainties, {
    first: 0,
    count: draws,
    random,
    goesOn: (done) => progress?.(done, draws) ?? true,
  });
  return spreadOfDraws(drawn, options.level);
}

/**
 * The draws from `first` on, null for one whose parameters left their range or whose start lay outside the temperature
 * window. A draw is the same whichever draws it is asked for with: those before it are only skipped.
 *
 * @param random the source of the whole run, at its beginning
 * @param goesOn told how many are done; false ends there
 */
export function drawCharges(
  setup: ChargeSetup,
  uncertainties: readonly CellUncertainty[],
  {
    first,
    count,
    random,
    goesOn = () => true,
  }: { first: number; count: number; random: RandomSource; goesOn?: (done: number) => boolean },
): (DrawnCharge | null)[] {
  if (uncertainties.length !== setup.cells.length)
    throw new RangeError(
      `${uncertainties.length} uncertainties for ${setup.cells.length} cells; one for each is needed`,
    );
  const normal = normalSource(random);
  for (let skipped = first * setup.cells.length * DEVIATES; skipped > 0; skipped--) normal();
  const drawn: (DrawnCharge | null)[] = [];
  while (drawn.length < count) {
    const changed = drawSetup(setup, uncertainties, normal);
    drawn.push(changed === null ? null : figuresOf(simulateCharge(changed)));
    if (!goesOn(drawn.length)) break;
  }
  return drawn;
}

function figuresOf(charge: ReturnType<typeof simulateCharge>): DrawnCharge | null {
  if (charge.endReason === 'outside-temperature-window') return null;
  const socs = charge.cells.map((cell) => cell.endSoc);
  return {
    endTimeS: charge.endTimeS,
    peakTemperatureC: hottest(charge),
    worstCellVoltageV: Math.max(...charge.cells.map((cell) => cell.peakVoltageV)),
    endSocSpread: Math.max(...socs) - Math.min(...socs),
    targetTimesS: charge.timesS,
  };
}

/**
 * What all draws of a run say together.
 *
 * @throws RangeError where fewer than five draws could be charged, or for a level outside 0…1.
 */
export function spreadOfDraws(drawn: readonly (DrawnCharge | null)[], level: number): MonteCarlo {
  if (!(level > 0 && level < 1)) throw new RangeError(`level is ${level}; it must lie between 0 and 1`);
  const charged = drawn.filter((one) => one !== null);
  if (charged.length < FEWEST)
    throw new RangeError(
      `only ${charged.length} of ${drawn.length} draws could be charged; the uncertainties are too large`,
    );
  const interval = (values: number[]) => drawnInterval(values, level);
  const times = charged[0].targetTimesS.map((_, s) =>
    charged.flatMap(({ targetTimesS }) => targetTimesS[s] ?? []),
  );
  return {
    draws: drawn.length,
    refused: drawn.length - charged.length,
    endTimeS: interval(charged.map(({ endTimeS }) => endTimeS)),
    targetTimesS: times.map((values) => (values.length >= 0.9 * charged.length ? interval(values) : null)),
    peakTemperatureC: interval(charged.map(({ peakTemperatureC }) => peakTemperatureC)),
    worstCellVoltageV: interval(charged.map(({ worstCellVoltageV }) => worstCellVoltageV)),
    endSocSpread: interval(charged.map(({ endSocSpread }) => endSocSpread)),
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
    const deviates = Array.from({ length: DEVIATES }, normal);
    const factor = (relative: number, deviate: number) => {
      const value = 1 + relative * deviate;
      if (!(value > 0)) possible = false;
      return value;
    };
    const [capacity, first, second, offset, heatCapacity, heatTransfer, soc, temperature] = deviates;
    const rho = u.r0BranchCorrelation;
    const change = {
      capacity: factor(u.capacityRelative, capacity),
      r0: factor(u.r0Relative, first),
      branches: factor(u.branchRelative, rho * first + Math.sqrt(1 - rho * rho) * second),
      ocvOffsetV: u.ocvV * offset,
      heatCapacity: factor(u.heatCapacityRelative, heatCapacity),
      heatTransfer: factor(u.heatTransferRelative, heatTransfer),
    };
    const startSoc = Math.min(Math.max(charged.startSoc + u.startSoc * soc, 0), 1);
    const startTemperatureC = charged.startTemperatureC + u.startTemperatureK * temperature;
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
