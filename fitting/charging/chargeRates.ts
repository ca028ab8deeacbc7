import type { ChargeSetup } from './chargeSetup.ts';
import { simulateCharge } from './simulateCharge.ts';
import type { SimulatedCharge } from './simulatedCharge.ts';
import { SupplyModel } from './supplyModel.ts';

/** What a charge at a rate must keep, beside the limits that the charger itself keeps. Null: not asked. */
export interface RateLimits {
  readonly maxTemperatureC: number | null;
  /** SOC that the constant current must reach before the voltage limit is met. */
  readonly minSocAtVoltageLimit: number | null;
}

export type BrokenLimit =
  | 'temperature'
  | 'soc-at-voltage-limit'
  | 'cell-voltage'
  | 'zone-no-charge'
  | 'source';

/**
 * Cycles to the end of life at a rate (in C) and a peak temperature; from the ageing of cycled cells. Null outside the
 * range that those cells cover.
 */
export type LifeLaw = (rateC: number, peakTemperatureC: number) => number | null;

/** One point of rate against what it costs. */
export interface RatePoint {
  readonly rateC: number;
  readonly currentA: number;
  /** Time at which the last cell reached the target SOC. */
  readonly targetTimeS: number | null;
  readonly endTimeS: number;
  readonly peakTemperatureC: number;
  readonly lossWh: number;
  readonly socAtVoltageLimit: number | null;
  readonly lifeCycles: number | null;
  readonly feasible: boolean;
  readonly broken: BrokenLimit | null;
}

/** A charge at a rate may take this many times the time in which its current fills the largest cell. */
const LONGEST = 20;

/**
 * The setup with one constant-current stage instead of its own. A time limit does not count against a low rate: it gets
 * the time it needs.
 */
export function atCurrent(setup: ChargeSetup, currentA: number, targetSoc: number): ChargeSetup {
  const largestAh = Math.max(...setup.cells.map(({ cell }) => cell.model.capacityAh));
  return {
    ...setup,
    maxDurationS: Math.max(setup.maxDurationS, (LONGEST * 3600 * largestAh) / currentA),
    stages: [{ currentA, until: null }],
    timesAtSoc: [targetSoc],
    restAfterS: 0,
    seriesStepS: null,
  };
}

/** Smallest of the cells' ratings: no advised current is above it. */
export function stackRatingA(setup: ChargeSetup): number {
  return Math.min(...setup.cells.map((cell) => cell.ratedCurrentA));
}

/**
 * The highest current not above `currentA` that can be asked of a setup: within the cells' ratings, within what source, cable
 * and converter carry, and a whole number of the source's steps.
 */
export function proposableA(setup: ChargeSetup, currentA: number): number {
  const rated = Math.min(currentA, stackRatingA(setup));
  if (setup.supply === null) return rated;
  const { toSenseOhm, beyondSenseOhm } = setup.stackResistance;
  const supply = new SupplyModel(setup.supply, toSenseOhm + beyondSenseOhm);
  const mode = setup.supply.ratioStage === null && setup.supply.regulator !== null ? 'regulator' : 'ratio';
  return supply.settable(mode, Math.min(rated, ...supply.caps(mode).map((cap) => cap.currentA)));
}

/** Which of the limits a computed charge has broken, null for none. */
export function brokenLimit(charge: SimulatedCharge, limits: RateLimits): BrokenLimit | null {
  const peak = hottest(charge);
  if (charge.endReason === 'temperature') return 'temperature';
  if (limits.maxTemperatureC !== null && peak > limits.maxTemperatureC) return 'temperature';
  if (charge.limits.some((stretch) => stretch.limit === 'zone-no-charge')) return 'zone-no-charge';
  if (charge.cells.some((cell) => cell.overvoltageV > 0)) return 'cell-voltage';
  const { minSocAtVoltageLimit: least } = limits;
  if (least !== null && charge.socAtVoltageLimit !== null && charge.socAtVoltageLimit < least)
    return 'soc-at-voltage-limit';
  // With bypasses that take more than the end current a charge is over when no cell takes more than that.
  const full =
    charge.endReason === 'end-current' ||
    charge.endReason === 'zone-voltage-reached' ||
    charge.endReason === 'bypass-exceeds-end-current';
  return full ? null : 'source';
}

/** Highest temperature of any cell in a charge. */
export function hottest(charge: SimulatedCharge): number {
  return Math.max(...charge.cells.map((cell) => cell.peakTemperatureC));
}

/** Charges at one constant current and says what it costs. `oneC` is the current of one C in amperes. */
export function ratePoint(
  setup: ChargeSetup,
  currentA: number,
  oneC: number,
  targetSoc: number,
  limits: RateLimits,
  life: LifeLaw | null,
): { point: RatePoint; charge: SimulatedCharge } {
  const charge = simulateCharge(atCurrent(setup, currentA, targetSoc));
  const broken = brokenLimit(charge, limits);
  const peakTemperatureC = hottest(charge);
  const { energy } = charge;
  const point: RatePoint = {
    rateC: currentA / oneC,
    currentA,
    targetTimeS: charge.timesS[0],
    endTimeS: charge.endTimeS,
    peakTemperatureC,
    lossWh:
      energy.cellLossWh +
      energy.cableLossWh +
      energy.converterLossWh +
      energy.stackResistanceLossWh +
      energy.bypassLossWh,
    socAtVoltageLimit: charge.socAtVoltageLimit,
    lifeCycles: life === null ? null : life(currentA / oneC, peakTemperatureC),
    feasible: broken === null,
    broken,
  };
  return { point, charge };
}
