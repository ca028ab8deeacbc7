/** Amounts of one run, positive in either direction. */
export interface RunAmounts {
  readonly direction: 'discharge' | 'charge';
  readonly chargeAh: number;
  readonly energyWh: number;
}

/** Efficiencies of one cycle; runs are indices into the list given. */
export interface CycleEfficiency {
  readonly chargeRun: number | null;
  readonly dischargeRun: number | null;
  /** Charge out / charge in. */
  readonly coulombicEfficiency: number | null;
  /** Energy out / energy in. */
  readonly energyEfficiency: number | null;
  readonly reason: 'no-matching-charge' | 'no-matching-discharge' | 'charge-not-from-empty' | null;
}

/**
 * A cell gives back no more than it took. Beyond 1 by more than the currents may be wrong, the charge began with some
 * charge in the cell, and the ratio is not an efficiency. Common practice, no source.
 */
const MOST_CHARGE_OUT = 1.02;

/**
 * Coulombic and energy efficiency of each cycle: a charge and the discharge that follows it next. A discharge without a
 * charge before it, a charge without a discharge after it, and a charge that plainly did not begin where the discharge
 * ends, give a cycle with a reason in place of numbers.
 */
export function cycleEfficiencies(runs: readonly RunAmounts[]): CycleEfficiency[] {
  const cycles: CycleEfficiency[] = [];
  const none = { coulombicEfficiency: null, energyEfficiency: null };
  for (let k = 0; k < runs.length; k++) {
    const run = runs[k];
    if (run.direction === 'discharge') {
      cycles.push({ chargeRun: null, dischargeRun: k, ...none, reason: 'no-matching-charge' });
      continue;
    }
    const next = runs[k + 1];
    if (next === undefined || next.direction === 'charge') {
      cycles.push({ chargeRun: k, dischargeRun: null, ...none, reason: 'no-matching-discharge' });
      continue;
    }
    const both = { chargeRun: k, dischargeRun: k + 1 };
    cycles.push(
      next.chargeAh > MOST_CHARGE_OUT * run.chargeAh
        ? { ...both, ...none, reason: 'charge-not-from-empty' }
        : {
            ...both,
            coulombicEfficiency: next.chargeAh / run.chargeAh,
            energyEfficiency: next.energyWh / run.energyWh,
            reason: null,
          },
    );
    k++;
  }
  return cycles;
}
