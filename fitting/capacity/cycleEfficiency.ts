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
  readonly reason: 'no-matching-charge' | 'no-matching-discharge' | null;
}

/**
 * Coulombic and energy efficiency of each cycle: a charge and the discharge that follows it next. A discharge without a
 * charge before it, or a charge without a discharge after it, gives a cycle with a reason in place of numbers.
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
    cycles.push({
      chargeRun: k,
      dischargeRun: k + 1,
      coulombicEfficiency: next.chargeAh / run.chargeAh,
      energyEfficiency: next.energyWh / run.energyWh,
      reason: null,
    });
    k++;
  }
  return cycles;
}
