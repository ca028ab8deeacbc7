/** What is known of one cell; null where it was not measured. */
export interface CellOfPair {
  readonly capacityAh: number | null;
  readonly resistanceOhm: number | null;
  /** Fall of the open-circuit voltage in storage. */
  readonly voltageDriftVPerDay: number | null;
  readonly capacityFadeAhPerCycle: number | null;
  readonly resistanceRiseOhmPerCycle: number | null;
}

/** How the stack is used; null where it is not stated. */
export interface StackUse {
  readonly chargeCurrentA: number | null;
  /** SOC at which both cells are brought level when the stack is built. */
  readonly levelledAtSoc: number;
  readonly daysPerCycle: number;
  /** Slope of the open-circuit voltage against SOC at storage, V per unit of SOC. */
  readonly openCircuitSlopeV: number | null;
  readonly cycles: number | null;
}

/** 0: the first cell of the pair, 1: the second. */
export type Which = 0 | 1;

/** What the pair will do as two cells in series. Every figure is null where an input is missing. */
export interface Consequences {
  readonly usableCapacityAh: number | null;
  readonly capacityLossAh: number | null;
  readonly capacityLossPercent: number | null;
  readonly limitsCharge: Which | null;
  readonly limitsDischarge: Which | null;
  readonly voltageDifferenceV: number | null;
  readonly bypassChargePerCycleAh: number | null;
  readonly socDriftPerMonth: number | null;
  readonly capacitySpreadAfterCyclesAh: number | null;
  readonly resistanceSpreadAfterCyclesOhm: number | null;
}

/** Mean month of the Gregorian calendar. */
const DAYS_PER_MONTH = 30.436875;

const both = (a: number | null, b: number | null, f: (a: number, b: number) => number): number | null =>
  a === null || b === null ? null : f(a, b);

/**
 * Usable charge of cells in series between "any cell full" and "any cell empty", from each one's SOC and capacity:
 * min zᵢ Qᵢ + min (1 − zᵢ) Qᵢ.
 */
export function usableChargeAh(socs: readonly number[], capacitiesAh: readonly number[]): number {
  let down = Infinity;
  let up = Infinity;
  capacitiesAh.forEach((capacityAh, i) => {
    down = Math.min(down, socs[i] * capacityAh);
    up = Math.min(up, (1 - socs[i]) * capacityAh);
  });
  return down + up;
}

/**
 * What pairing these two cells means in the device. The voltage difference is taken at equal SOC: I (R₂ − R₁).
 * Self-discharge is drift / OCV slope as SOC per day, times the capacity as charge per day; the bypass has to remove
 * its difference. Spread after N cycles adds N times the difference of the slopes to today's difference.
 */
export function pairConsequences(first: CellOfPair, second: CellOfPair, use: StackUse): Consequences {
  const usableCapacityAh = both(first.capacityAh, second.capacityAh, (a, b) =>
    usableChargeAh([use.levelledAtSoc, use.levelledAtSoc], [a, b]),
  );
  const meanAh = both(first.capacityAh, second.capacityAh, (a, b) => (a + b) / 2);
  const capacityLossAh = both(meanAh, usableCapacityAh, (mean, usable) => mean - usable);
  const voltageDifferenceV = voltageDifference(first, second, use);
  const drift = selfDischargeDifference(first, second, use);
  return {
    usableCapacityAh,
    capacityLossAh,
    capacityLossPercent: both(capacityLossAh, meanAh, (loss, mean) => (100 * loss) / mean),
    limitsCharge: firstAtLimit(first, second, use),
    limitsDischarge: firstEmpty(first.capacityAh, second.capacityAh, use.levelledAtSoc),
    voltageDifferenceV,
    bypassChargePerCycleAh: drift === null ? null : Math.abs(drift.ampereHoursPerDay) * use.daysPerCycle,
    socDriftPerMonth: drift === null ? null : Math.abs(drift.socPerDay) * DAYS_PER_MONTH,
    capacitySpreadAfterCyclesAh: spread(
      both(first.capacityAh, second.capacityAh, (a, b) => a - b),
      both(first.capacityFadeAhPerCycle, second.capacityFadeAhPerCycle, (a, b) => b - a),
      use.cycles,
    ),
    resistanceSpreadAfterCyclesOhm: spread(
      both(first.resistanceOhm, second.resistanceOhm, (a, b) => a - b),
      both(first.resistanceRiseOhmPerCycle, second.resistanceRiseOhmPerCycle, (a, b) => a - b),
      use.cycles,
    ),
  };
}

function voltageDifference(first: CellOfPair, second: CellOfPair, use: StackUse): number | null {
  const { chargeCurrentA } = use;
  if (chargeCurrentA === null) return null;
  return both(first.resistanceOhm, second.resistanceOhm, (a, b) => chargeCurrentA * (b - a));
}

/**
 * The cell that meets the upper voltage limit first: the one with more resistance and more SOC when the smaller cell is
 * full. Where the two point different ways, current and OCV slope decide; without them, or without one of the two leads,
 * nobody can.
 */
function firstAtLimit(first: CellOfPair, second: CellOfPair, use: StackUse): Which | null {
  const resistanceLead = both(first.resistanceOhm, second.resistanceOhm, (a, b) => b - a);
  const socLead =
    use.levelledAtSoc === 1
      ? 0
      : both(first.capacityAh, second.capacityAh, (a, b) => {
          const chargedAh = (1 - use.levelledAtSoc) * Math.min(a, b);
          return chargedAh / b - chargedAh / a;
        });
  if (resistanceLead === null || socLead === null) return null;
  const { chargeCurrentA, openCircuitSlopeV } = use;
  let lead = Math.sign(resistanceLead) + Math.sign(socLead);
  if (resistanceLead * socLead < 0) {
    if (chargeCurrentA === null || openCircuitSlopeV === null) return null;
    lead = chargeCurrentA * resistanceLead + openCircuitSlopeV * socLead;
  }
  return lead === 0 ? null : lead > 0 ? 1 : 0;
}

/** The cell with less charge above empty; null where they hold the same. */
function firstEmpty(a: number | null, b: number | null, soc: number): Which | null {
  if (a === null || b === null) return null;
  const difference = soc * a - soc * b;
  return difference === 0 ? null : difference < 0 ? 0 : 1;
}

function selfDischargeDifference(first: CellOfPair, second: CellOfPair, use: StackUse) {
  const slope = use.openCircuitSlopeV;
  const socPerDay = both(first.voltageDriftVPerDay, second.voltageDriftVPerDay, (a, b) =>
    slope === null ? Number.NaN : (b - a) / slope,
  );
  if (slope === null || socPerDay === null || first.capacityAh === null || second.capacityAh === null)
    return null;
  const leak = (driftVPerDay: number, capacityAh: number) => (driftVPerDay / slope) * capacityAh;
  const ampereHoursPerDay =
    leak(second.voltageDriftVPerDay!, second.capacityAh) - leak(first.voltageDriftVPerDay!, first.capacityAh);
  return { socPerDay, ampereHoursPerDay };
}

function spread(today: number | null, slope: number | null, cycles: number | null): number | null {
  return today === null || slope === null || cycles === null ? null : Math.abs(today + slope * cycles);
}
