import type { Pulse, RecordColumns, StepFinding } from '../records/index.ts';
import type { PulseReading } from './pulseReading.ts';
import { type ResistanceReason, resistanceAt } from './resistanceAt.ts';
import { type TwoLevelResult, twoLevelResistance } from './twoLevel.ts';

/** A pair of levels in a record that fits the two-level method. */
export interface TwoLevelEvaluation extends Omit<TwoLevelResult, 'reason'> {
  readonly pulse: Pulse;
  readonly firstCurrentA: number;
  readonly secondCurrentA: number;
  readonly firstVoltageV: number | null;
  readonly secondVoltageV: number | null;
  readonly reason: TwoLevelResult['reason'] | ResistanceReason;
}

/**
 * Looks for a discharge level of about 10 s followed at once by one at least twice as high of at least 1 s,
 * as IEC 61960-3 asks, and evaluates the voltage just before the step and 1 s after it. The voltage that still moves
 * on the first level is part of the second voltage, as the method has it.
 *
 * @param readings of the pulses, in their order
 */
export function findTwoLevel(
  record: RecordColumns,
  finding: StepFinding,
  readings: readonly PulseReading[],
): TwoLevelEvaluation[] {
  const { timeS } = record;
  const found: TwoLevelEvaluation[] = [];
  for (const reading of readings) {
    const { pulse, on } = reading;
    const first = finding.steps[pulse.baseStep];
    const before = finding.steps[pulse.baseStep - 1];
    const lastedS = timeS[first.end - 1] - (before ? timeS[first.start - 1] : timeS[first.start]);
    const fits =
      first.kind === 'constant-current' &&
      pulse.direction === 'discharge' &&
      first.currentA < 0 &&
      pulse.currentA <= 2 * first.currentA &&
      lastedS >= 9.5 &&
      lastedS <= 20 &&
      pulse.durationS >= 0.98;
    if (!fits) continue;
    const change = reading.changeAt(on.settled);
    const firstV = reading.baseAt(on.momentS);
    const levels = { pulse, firstCurrentA: pulse.currentA - change.currentA, secondCurrentA: pulse.currentA };
    const read = resistanceAt(reading, 1);
    if (read.valueOhm === null) {
      const { valueOhm, standardUncertaintyOhm, reason } = read;
      const voltages = { firstVoltageV: firstV.voltageV, secondVoltageV: null };
      found.push({
        ...levels,
        ...voltages,
        valueOhm,
        standardUncertaintyOhm,
        reason: reason as ResistanceReason,
      });
      continue;
    }
    const goesOnV = reading.baseAt(on.momentS + 1).voltageV;
    const secondVoltageV = goesOnV + read.valueOhm * change.currentA;
    const { standardUncertaintyOhm } = read;
    found.push({
      ...levels,
      firstVoltageV: firstV.voltageV,
      secondVoltageV,
      ...twoLevelResistance(
        { currentA: levels.firstCurrentA, voltageV: firstV.voltageV },
        { currentA: levels.secondCurrentA, voltageV: secondVoltageV },
      ),
      standardUncertaintyOhm,
    });
  }
  return found;
}
