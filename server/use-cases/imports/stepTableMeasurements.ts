import { type LoggedPulse, stepTablePulses } from '../../../fitting/resistance/index.ts';
import { countedState, isBeyondEnds } from '../../assess/parameters/ownScale.ts';
import type { CountedSoc } from '../../contract/common.ts';
import type { LoggedTestStep } from '../../import/stepTable.ts';
import type { TakenMeasurement } from './takenFile.ts';

/** What says at which state of charge a logged pulse was. */
export interface StepTableLimits {
  readonly ratedCapacityAh: number;
  readonly dischargeCutoffV: number;
  readonly chargeVoltageLimitV: number;
}

/** How near to a limit's voltage a step must have ended to have reached it, in V. */
const REACHED_V = 0.01;

/**
 * Resistances that a step table tells of: one for each pulse, at the time the pulse really lasted, so that one that was
 * ended early stands at its own duration. The first reading of a step gives none, because a table does not say how long
 * after the step it was taken. The rows belong to the first test of the file.
 *
 * @param temperatureC of the test, where the table itself has none
 * @param lines of the file in which the steps stand
 */
export function stepTableMeasurements(
  serial: string,
  steps: readonly LoggedTestStep[],
  limits: StepTableLimits,
  temperatureC: number | null,
  lines: readonly number[],
): TakenMeasurement[] {
  const socs = socBefore(steps, limits);
  const places = steps.flatMap((step, i) =>
    step.startVoltageV === null || step.endVoltageV === null || step.startCurrentA === null ? [] : [i],
  );
  const logged = places.map((i) => {
    const step = steps[i];
    return {
      startTimeS: step.startTimeS,
      durationS: step.durationS,
      startVoltageV: step.startVoltageV as number,
      endVoltageV: step.endVoltageV as number,
      startCurrentA: step.startCurrentA as number,
      endCurrentA: step.endCurrentA ?? (step.startCurrentA as number),
    };
  });
  return stepTablePulses(logged).flatMap((pulse): TakenMeasurement[] => {
    const i = places[pulse.step];
    const { endResistanceOhm, durationS } = pulse;
    if (steps[i].mode !== 'constant-current' || !(endResistanceOhm > 0) || !(durationS > 0)) return [];
    if (!Number.isFinite(endResistanceOhm)) return [];
    return [
      {
        serial,
        testIndex: 0,
        quantity: 'resistance',
        unit: 'Ohm',
        value: endResistanceOhm,
        standardUncertainty: null,
        reason: 'uncertainty-not-stated',
        ...socs[i],
        temperatureC: steps[i].startTemperatureC ?? temperatureC,
        direction: pulse.direction,
        durationS,
        currentA: pulse.currentA,
        cycle: null,
        efc: null,
        method: methodOf(pulse),
        excludedReason: null,
        measuredAt: null,
        testId: null,
        fitId: null,
        sourceRow: lines[i],
      },
    ];
  });
}

function methodOf({ endedEarly, endedByVoltageLimit, intendedDurationS }: LoggedPulse): string {
  if (endedByVoltageLimit) {
    return `step table, end of a pulse of ${intendedDurationS} s that a voltage limit ended`;
  }
  return endedEarly
    ? `step table, end of a pulse that was ended before its ${intendedDurationS} s`
    : 'step table, end of the pulse';
}

/**
 * State of charge before each step, from where the log itself reaches empty (a discharge ends at the cut-off voltage) or
 * full (a charge with constant voltage ends at the charge limit), by the logged charge. Null before that, after a step
 * whose charge is not known, and where the rated capacity puts it beyond empty or full.
 */
function socBefore(
  steps: readonly LoggedTestStep[],
  limits: StepTableLimits,
): { readonly soc: number | null; readonly counted: CountedSoc | null }[] {
  const { ratedCapacityAh } = limits;
  let counted: CountedSoc | null = null;
  return steps.map((step) => {
    const before = counted;
    const currentA = step.meanCurrentA ?? 0;
    const chargeAh: number | null =
      step.chargeAh ?? (step.mode === 'constant-current' ? (currentA * step.durationS) / 3600 : null);
    const reaches = reachesOf(step, limits);
    if (reaches !== null) counted = { fromSoc: reaches === 'full' ? 1 : 0, chargeAh: 0, ratedCapacityAh };
    else if (step.mode !== 'rest')
      counted =
        counted === null || chargeAh === null ? null : { ...counted, chargeAh: counted.chargeAh + chargeAh };
    const soc = before === null ? null : countedState(before, ratedCapacityAh);
    return { soc: soc === null || isBeyondEnds(soc) ? null : soc, counted: before };
  });
}

/** Whether a step ends at empty (a discharge at the cut-off voltage) or at full (a charge with constant voltage at the limit). */
export function reachesOf(
  step: LoggedTestStep,
  { dischargeCutoffV, chargeVoltageLimitV }: StepTableLimits,
): 'empty' | 'full' | null {
  const currentA = step.meanCurrentA ?? step.chargeAh ?? 0;
  const endV = step.endVoltageV ?? Number.NaN;
  if (currentA < 0 && endV <= dischargeCutoffV + REACHED_V) return 'empty';
  const held = step.mode === 'constant-current-constant-voltage' || step.mode === 'constant-voltage';
  return held && currentA > 0 && endV >= chargeVoltageLimitV - REACHED_V ? 'full' : null;
}
