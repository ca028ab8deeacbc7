import type { LoggedTestStep } from '../../import/stepTable.ts';
import type { StepTableLimits } from './stepTableMeasurements.ts';
import { reachesOf } from './stepTableMeasurements.ts';
import type { TakenMeasurement } from './takenFile.ts';

/** What was counted since the cell was last full or empty. */
interface Counted {
  readonly from: 'full' | 'empty';
  chargeAh: number | null;
  energyWh: number | null;
  line: number;
  startC: number | null;
  /** Of the longest step with current. */
  currentA: number | null;
  longestS: number;
  /** False once the current turned round, or a discharge went on with another one. */
  steady: boolean;
}

/** A discharge goes on with the same current within this share. Common practice, no source. */
const SAME_CURRENT = 0.1;

/**
 * Capacities and energies that a step table states: the amounts of the steps between full (a charge with constant voltage
 * that ends at the limit) and empty (a discharge that ends at the cut-off voltage), and back. What does not go the whole way, or
 * not with one current, is no capacity.
 *
 * @param lines of the file in which the steps stand
 */
export function stepTableCapacities(
  serial: string,
  steps: readonly LoggedTestStep[],
  limits: StepTableLimits,
  temperatureC: number | null,
  lines: readonly number[],
): TakenMeasurement[] {
  const found: TakenMeasurement[] = [];
  let counted: Counted | null = null;
  steps.forEach((step, i) => {
    const reaches = reachesOf(step, limits);
    if (counted !== null) add(counted, step, lines[i]);
    if (reaches === null) return;
    if (counted !== null && counted.from !== reaches)
      found.push(...capacitiesOf(counted, { serial, temperatureC, cycle: step.cycle }));
    counted = {
      from: reaches,
      chargeAh: 0,
      energyWh: 0,
      line: lines[i],
      startC: null,
      currentA: null,
      longestS: 0,
      steady: true,
    };
  });
  return found;
}

function add(counted: Counted, step: LoggedTestStep, line: number): void {
  if (step.mode === 'rest') return;
  if (counted.longestS === 0) counted.startC = step.startTemperatureC;
  else if (!goesOn(counted, step)) counted.steady = false;
  counted.chargeAh =
    counted.chargeAh === null || step.chargeAh === null ? null : counted.chargeAh + step.chargeAh;
  counted.energyWh =
    counted.energyWh === null || step.energyWh === null ? null : counted.energyWh + step.energyWh;
  counted.line = line;
  if (step.durationS <= counted.longestS) return;
  counted.longestS = step.durationS;
  counted.currentA = step.meanCurrentA;
}

function goesOn({ from, currentA }: Counted, step: LoggedTestStep): boolean {
  const next = step.meanCurrentA;
  if (currentA === null || next === null) return true;
  if (currentA * next < 0) return false;
  return from === 'empty' || Math.abs(next - currentA) <= SAME_CURRENT * Math.abs(currentA);
}

function capacitiesOf(
  { from, chargeAh, energyWh, line, startC, currentA, steady }: Counted,
  of: { readonly serial: string; readonly temperatureC: number | null; readonly cycle: number | null },
): TakenMeasurement[] {
  if (!steady) return [];
  const discharge = from === 'full';
  const sign = discharge ? -1 : 1;
  const amounts = [
    [discharge ? 'capacity' : 'charge-capacity', 'Ah', chargeAh],
    [discharge ? 'energy' : 'charge-energy', 'Wh', energyWh],
  ] as const;
  return amounts.flatMap(([quantity, unit, amount]): TakenMeasurement[] =>
    amount === null || !(amount * sign > 0)
      ? []
      : [
          {
            serial: of.serial,
            testIndex: 0,
            quantity,
            unit,
            value: amount * sign,
            standardUncertainty: null,
            reason: 'uncertainty-not-stated',
            soc: null,
            temperatureC: startC ?? of.temperatureC,
            direction: null,
            durationS: null,
            currentA,
            cycle: of.cycle,
            efc: null,
            method: `step table, ${discharge ? 'full to empty' : 'empty to full'}`,
            excludedReason: null,
            measuredAt: null,
            testId: null,
            fitId: null,
            sourceRow: line,
          },
        ],
  );
}
