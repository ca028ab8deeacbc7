import type { ChargeCellDescription } from '../contract/chargeStudy.ts';
import type { BenchCharge } from './spiceTestBench.ts';

/**
 * The charge a test bench runs where nothing else is said: 1 C of the smallest rated capacity or the lowest maker's
 * rating, whichever is less, to the voltage limit of the cell that meets it first, until a twentieth of 1 C (common practice).
 */
export function benchChargeOf(cells: readonly ChargeCellDescription[]): BenchCharge {
  const least = (pick: (cell: ChargeCellDescription) => number) => Math.min(...cells.map(pick));
  const ratedA = least((cell) => cell.ratedCapacityAh ?? cell.capacityAh);
  const currentA = Math.min(
    ratedA,
    least((cell) => cell.datasheet.maxChargeCurrentA),
  );
  const largestAh = Math.max(...cells.map((cell) => cell.capacityAh));
  return {
    currentA,
    cellVoltageLimitsV: cells.map((cell) => cell.datasheet.maxVoltageV),
    endCurrentA: Math.min(0.05 * ratedA, 0.5 * currentA),
    maxDurationS: Math.ceil((3 * 3600 * largestAh) / currentA),
  };
}
