import { normal, uniformFrom } from './random.ts';
import { type CellTruth, scenario } from './scenario.ts';

/** One row of a cycle table. */
export interface CycleRow {
  readonly serial: string;
  readonly cycle: number;
  readonly capacityAh: number;
  readonly resistanceOhm: number;
  readonly temperatureC: number;
}

/** Where the invented cells begin to fade faster. */
export const kneeCycle = 520;

/** Capacity and resistance of a cell over its cycles: slow fade, a knee, a bump after a week of rest, one bad reading. */
export function cycleLife(truth: CellTruth, number: number, cycles: number): CycleRow[] {
  const uniform = uniformFrom(scenario.seed + 4000 + number);
  const pace = 1 + 0.08 * normal(uniform, 0, 1);
  return Array.from({ length: cycles }, (_, index) => {
    const cycle = index + 1;
    const slow = 0.0042 * Math.sqrt(cycle) * pace;
    const knee = 0.00021 * 40 * Math.log1p(Math.exp((cycle - kneeCycle / pace) / 40));
    const bump = cycle >= 260 && cycle < 300 ? 0.006 * Math.exp(-(cycle - 260) / 9) : 0;
    const bad = cycle === 401 ? 0.11 : 0;
    const loss = slow + knee - bump + bad;
    return {
      serial: truth.serial,
      cycle,
      capacityAh: truth.capacityAh * 0.985 * (1 - loss) + normal(uniform, 0, 0.0008),
      resistanceOhm: (truth.r0Ohm + truth.r1Ohm) * (1 + 1.4 * (slow + knee)) + normal(uniform, 0, 0.00006),
      temperatureC: 27.5 + normal(uniform, 0, 0.3),
    };
  });
}
