import {
  type BrokenLimit,
  type LifeLaw,
  proposableA,
  type RateLimits,
  type RatePoint,
  ratePoint,
  stackRatingA,
} from './chargeRates.ts';
import type { ChargeSetup } from './chargeSetup.ts';
import type { SimulatedCharge } from './simulatedCharge.ts';

export interface RateSearchOptions {
  /** Current of one C, A. */
  readonly oneC: number;
  readonly targetSoc: number;
  readonly minRateC: number;
  /** Null: the rating alone bounds the search. */
  readonly maxRateC: number | null;
  readonly limits: RateLimits;
  /** Points of the trade-off curve, 0 for none. */
  readonly tradeOffPoints: number;
  readonly life: LifeLaw | null;
}

export type RateBinding =
  | 'datasheet-rating'
  | 'asked-maximum'
  | 'temperature'
  | 'soc-at-voltage-limit'
  | 'zone-current'
  | 'source'
  | 'none-feasible'
  | 'outside-temperature-window';

export interface RateSearch {
  /** Null where the answer is not to charge. */
  readonly best: RatePoint | null;
  /** The limit that a higher rate would break. */
  readonly binding: RateBinding;
  readonly reason:
    | 'below-minimum-temperature'
    | 'above-maximum-temperature'
    | 'limits-broken-at-lowest-rate'
    | null;
  readonly tradeOff: readonly RatePoint[];
  readonly simulations: number;
  readonly extrapolated: boolean;
}

/** The search ends when the rate is known to this part of itself. */
const RELATIVE_RESOLUTION = 2e-4;
const MAX_PASSES = 25;

/**
 * The highest constant rate at which a charge keeps every limit, never above the datasheet's rating: tried at the highest
 * allowed, and where that breaks a limit, bisected between the lowest and the highest. The rate given has itself been
 * charged and found within all limits. Takes about 15 charges, and one for each point of the trade-off.
 */
export function searchRate(setup: ChargeSetup, options: RateSearchOptions): RateSearch {
  const rating = stackRatingA(setup);
  const asked = options.maxRateC === null ? Number.POSITIVE_INFINITY : options.maxRateC * options.oneC;
  const highest = Math.min(rating, asked);
  const lowest = Math.min(options.minRateC * options.oneC, highest);
  let simulations = 0;
  let extrapolated = false;
  const charge = (currentA: number) => {
    simulations += 1;
    const tried = ratePoint(setup, currentA, options.oneC, options.targetSoc, options.limits, options.life);
    extrapolated ||= tried.charge.cells.some((cell) => cell.temperatureOutsideTable);
    return tried;
  };
  const done = (
    best: RatePoint | null,
    binding: RateBinding,
    reason: RateSearch['reason'] = null,
  ): RateSearch => {
    const tradeOff =
      best === null && reason !== 'limits-broken-at-lowest-rate'
        ? []
        : curve(setup, lowest, highest, options, charge);
    return { best, binding, reason, tradeOff, simulations, extrapolated };
  };
  const top = charge(highest);
  if (top.charge.endReason === 'outside-temperature-window')
    return done(null, 'outside-temperature-window', windowReason(setup));
  if (top.point.feasible) {
    const flowing = cappedCurrent(top.charge, highest);
    if (flowing !== null) return done(charge(proposableA(setup, flowing.currentA)).point, flowing.binding);
    const settable = proposableA(setup, highest);
    const point = settable < highest ? charge(settable).point : top.point;
    return done(point, rating <= asked ? 'datasheet-rating' : 'asked-maximum');
  }
  let best = charge(proposableA(setup, lowest)).point;
  if (!best.feasible) return done(null, 'none-feasible', 'limits-broken-at-lowest-rate');
  let [above, broken] = [highest, top.point.broken];
  for (let pass = 0; pass < MAX_PASSES && above - best.currentA > RELATIVE_RESOLUTION * above; pass++) {
    const middle = (best.currentA + above) / 2;
    const settable = proposableA(setup, middle);
    // Between two steps of the source there is nothing to try.
    if (settable <= best.currentA) {
      above = middle;
      continue;
    }
    const { point } = charge(settable);
    if (point.feasible) best = point;
    else [above, broken] = [settable, point.broken];
  }
  return done(best, bindingOf(broken));
}

function bindingOf(broken: BrokenLimit | null): RateBinding {
  if (broken === 'temperature' || broken === 'zone-no-charge') return 'temperature';
  if (broken === 'soc-at-voltage-limit') return 'soc-at-voltage-limit';
  return 'source';
}

/** Where supply or zone never let the asked current flow: the highest that did, with what held it. */
function cappedCurrent(
  charge: SimulatedCharge,
  askedA: number,
): { currentA: number; binding: RateBinding } | null {
  if (charge.limits.some((stretch) => stretch.limit === 'stage-current' || stretch.limit === 'cell-rating'))
    return null;
  const flowing = charge.phases.filter(
    (phase) => phase.kind === 'constant-current' || phase.kind === 'source-limited',
  );
  if (flowing.length === 0) return null;
  const most = flowing.reduce((a, b) => (b.startCurrentA > a.startCurrentA ? b : a));
  const currentA = most.startCurrentA;
  if (!(currentA < askedA * (1 - 1e-9))) return null;
  const holding = charge.limits.find((stretch) => stretch.endTimeS > most.startTimeS);
  const zone = holding?.limit === 'zone-current';
  return { currentA, binding: zone ? 'zone-current' : 'source' };
}

function windowReason(setup: ChargeSetup): 'below-minimum-temperature' | 'above-maximum-temperature' {
  const cold = setup.cells.some((cell) => {
    const zones = [...(setup.zones ?? []), ...(cell.datasheetZones ?? [])];
    const lowest = Math.min(...zones.map((zone) => zone.fromC));
    const { minTemperatureC, startTemperatureC } = cell;
    return (
      (minTemperatureC !== null && startTemperatureC < minTemperatureC) ||
      (zones.length > 0 && startTemperatureC < lowest)
    );
  });
  return cold ? 'below-minimum-temperature' : 'above-maximum-temperature';
}

function curve(
  setup: ChargeSetup,
  lowest: number,
  highest: number,
  options: RateSearchOptions,
  charge: (currentA: number) => { point: RatePoint },
): RatePoint[] {
  const count = options.tradeOffPoints;
  if (count === 0) return [];
  const from = Math.max(lowest, 0.15 * highest);
  return Array.from({ length: count }, (_, k) => {
    const share = count === 1 ? 1 : k / (count - 1);
    return charge(proposableA(setup, from + share * (highest - from))).point;
  });
}
