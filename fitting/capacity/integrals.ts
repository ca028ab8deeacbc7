import type { RecordColumns, RowRange } from '../records/index.ts';

/** Charge and energy that passed between two rows; positive where the current was positive (charge). */
export interface ChargeEnergy {
  readonly chargeAh: number;
  readonly energyWh: number;
}

/**
 * Charge in Ah and energy in Wh over rows `start` (included) to `end` (excluded) by the trapezoid rule on the
 * current and on the product of voltage and current.
 *
 * Edges: a range of fewer than two rows gives 0; two rows with one time stamp contribute nothing; a gap is bridged
 * by a straight line (find gaps beforehand where that is not wanted).
 */
export function chargeAndEnergy(record: RecordColumns, range: RowRange): ChargeEnergy {
  const { timeS, voltageV, currentA } = record;
  let charge = 0;
  let energy = 0;
  for (let i = range.start + 1; i < range.end; i++) {
    const half = (timeS[i] - timeS[i - 1]) / 7200;
    charge += half * (currentA[i] + currentA[i - 1]);
    energy += half * (currentA[i] * voltageV[i] + currentA[i - 1] * voltageV[i - 1]);
  }
  return { chargeAh: charge, energyWh: energy };
}
