import type { Pulse } from '../records/pulses.ts';
import type { RecordColumns } from '../records/record.ts';
import type { StepFinding } from '../records/steps.ts';
import { baseVoltage } from './baseVoltage.ts';
import { resistanceAt } from './resistanceAt.ts';
import { type TwoLevelResult, twoLevelResistance } from './twoLevel.ts';

/** A pair of levels in a record that fits the two-level method. */
export interface TwoLevelEvaluation extends Omit<TwoLevelResult, 'reason'> {
  readonly pulse: Pulse;
  readonly firstCurrentA: number;
  readonly secondCurrentA: number;
  readonly firstVoltageV: number | null;
  readonly secondVoltageV: number | null;
  readonly reason: TwoLevelResult['reason'] | 'sampling-too-coarse';
}

/**
 * Looks for a discharge level of about 10 s followed at once by one at least twice as high of at least 1 s,
 * as IEC 61960-3 asks, and evaluates the voltage just before the step and 1 s after it.
 */
export function findTwoLevel(
  record: RecordColumns,
  finding: StepFinding,
  pulses: readonly Pulse[],
): TwoLevelEvaluation[] {
  const { timeS } = record;
  const noise = { voltageV: finding.voltageNoiseV, currentA: finding.scale.loadNoiseA };
  const found: TwoLevelEvaluation[] = [];
  for (const pulse of pulses) {
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
    const base = baseVoltage(record, { start: first.end - 1, end: first.end }, noise.voltageV, 0);
    const read = resistanceAt(record, pulse, base, noise, 1);
    const secondVoltageV =
      read.valueOhm === null ? null : base.voltageV + read.valueOhm * (pulse.currentA - base.currentA);
    const common = {
      pulse,
      firstCurrentA: base.currentA,
      secondCurrentA: pulse.currentA,
      firstVoltageV: base.voltageV,
      secondVoltageV,
    };
    if (secondVoltageV === null) {
      found.push({ ...common, valueOhm: null, standardUncertaintyOhm: null, reason: 'sampling-too-coarse' });
      continue;
    }
    const level = (currentA: number, voltageV: number) => ({
      currentA,
      voltageV,
      standardUncertaintyV: noise.voltageV,
    });
    found.push({
      ...common,
      ...twoLevelResistance(level(base.currentA, base.voltageV), level(pulse.currentA, secondVoltageV)),
    });
  }
  return found;
}
