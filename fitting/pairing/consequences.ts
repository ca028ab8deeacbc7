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

/** Place of a cell in its pair or group. */
type Place = number;

/** What the cells will do in series. Every figure is null where an input is missing. */
interface Consequences {
  readonly usableCapacityAh: number | null;
  readonly capacityLossAh: number | null;
  readonly capacityLossPercent: number | null;
  readonly limitsCharge: Place | null;
  readonly limitsDischarge: Place | null;
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
 * What putting these cells in series means in the device: for two as {@link pairConsequences} says; of more, the usable
 * capacity is that of all, a cell limits where it does beside every other one, and differences are the largest between any two.
 */
export function groupConsequences(cells: readonly CellOfPair[], use: StackUse): Consequences {
  if (cells.length === 2) return pairConsequences(cells[0], cells[1], use);
  const twos = cells.flatMap((first, a) =>
    cells.slice(a + 1).map((second, k) => {
      const { limitsCharge, limitsDischarge, ...figures } = pairConsequences(first, second, use);
      const place = (which: Place | null) => (which === null ? null : [a, a + 1 + k][which]);
      return { ...figures, limitsCharge: place(limitsCharge), limitsDischarge: place(limitsDischarge) };
    }),
  );
  const largest = (of: (two: Consequences) => number | null) =>
    twos.reduce<number | null>((most, two) => both(most, of(two), (a, b) => Math.max(a, Math.abs(b))), 0);
  const limiting = (of: (two: Consequences) => Place | null): Place | null => {
    const place = cells.findIndex((_, i) => twos.filter((two) => of(two) === i).length === cells.length - 1);
    return place === -1 ? null : place;
  };
  return {
    ...usableCapacity(cells, use),
    limitsCharge: limiting((two) => two.limitsCharge),
    limitsDischarge: limiting((two) => two.limitsDischarge),
    voltageDifferenceV: largest((two) => two.voltageDifferenceV),
    bypassChargePerCycleAh: largest((two) => two.bypassChargePerCycleAh),
    socDriftPerMonth: largest((two) => two.socDriftPerMonth),
    capacitySpreadAfterCyclesAh: largest((two) => two.capacitySpreadAfterCyclesAh),
    resistanceSpreadAfterCyclesOhm: largest((two) => two.resistanceSpreadAfterCyclesOhm),
  };
}

/**
 * What pairing these two cells means in the device. The voltage difference is taken at equal SOC: I (R₂ − R₁).
 * Self-discharge is drift / OCV slope as SOC per day, times the capacity as charge per day; the bypass has to remove
 * its difference. Spread after N cycles adds N times the difference of the slopes to today's difference.
 */
export function pairConsequences(first: CellOfPair, second: CellOfPair, use: StackUse): Consequences {
  const voltageDifferenceV = voltageDifference(first, second, use);
  const drift = selfDischargeDifference(first, second, use);
  return {
    ...usableCapacity([first, second], use),
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

function usableCapacity(cells: readonly CellOfPair[], { levelledAtSoc }: StackUse) {
  const capacitiesAh = cells.flatMap(({ capacityAh }) => (capacityAh === null ? [] : [capacityAh]));
  if (capacitiesAh.length !== cells.length)
    return { usableCapacityAh: null, capacityLossAh: null, capacityLossPercent: null };
  const usableCapacityAh = usableChargeAh(
    capacitiesAh.map(() => levelledAtSoc),
    capacitiesAh,
  );
  const meanAh = capacitiesAh.reduce((sum, one) => sum + one, 0) / cells.length;
  const capacityLossAh = meanAh - usableCapacityAh;
  return { usableCapacityAh, capacityLossAh, capacityLossPercent: (100 * capacityLossAh) / meanAh };
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
function firstAtLimit(first: CellOfPair, second: CellOfPair, use: StackUse): Place | null {
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
function firstEmpty(a: number | null, b: number | null, soc: number): Place | null {
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
