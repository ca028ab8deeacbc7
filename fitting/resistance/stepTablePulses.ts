/** One step of an instrument's step log: no samples, only its ends. */
export interface LoggedStep {
  readonly startTimeS: number;
  readonly durationS: number;
  readonly startVoltageV: number;
  readonly endVoltageV: number;
  /** Signed, positive on charge; 0 in rest. */
  readonly startCurrentA: number;
  readonly endCurrentA: number;
}

/** A pulse read from a step log. */
export interface LoggedPulse {
  /** Index of the step in the log. */
  readonly step: number;
  readonly direction: 'charge' | 'discharge';
  readonly currentA: number;
  readonly durationS: number;
  /**
   * Duration of the next longer step that most pulses of this kind have, where this one is shorter by over 5
   * %.
   */
  readonly intendedDurationS: number;
  readonly endedEarly: boolean;
  /** Voltage at the end of the rest before. */
  readonly restVoltageV: number;
  /** At the first sample of the pulse. */
  readonly firstResistanceOhm: number;
  /** At its end, `durationS` after the step. */
  readonly endResistanceOhm: number;
}

/** Pause between two steps above which the rest's last voltage says nothing about the pulse's beginning. */
const LONGEST_PAUSE_S = 5;

/**
 * Reads the pulses off a step log: every step of current of at most `longestS` right after a rest. R = |U −
 * U_rest|/|I|, with the current of the same reading. A pulse shorter than its like was ended early, mostly by
 * a voltage limit; its resistance belongs to the time it really lasted.
 */
export function stepTablePulses(steps: readonly LoggedStep[], longestS = 150): LoggedPulse[] {
  const isRest = (step: LoggedStep): boolean => step.startCurrentA === 0 && step.endCurrentA === 0;
  const found = steps.flatMap((step, k) => {
    const rest = steps[k - 1];
    if (rest === undefined || isRest(step) || !isRest(rest) || step.durationS > longestS) return [];
    const pauseS = step.startTimeS - rest.startTimeS - rest.durationS;
    return pauseS > LONGEST_PAUSE_S ? [] : [{ step, k, rest }];
  });
  const counts = new Map<number, number>();
  for (const { step } of found) counts.set(step.durationS, (counts.get(step.durationS) ?? 0) + 1);
  const least = Math.max(2, 0.02 * found.length);
  const usual = [...counts.keys()]
    .filter((one) => (counts.get(one) as number) >= least)
    .sort((a, b) => a - b);
  return found.map(({ step, k, rest }) => {
    const intendedDurationS = intended(step.durationS, usual);
    const rise = (voltageV: number, currentA: number): number =>
      Math.abs((voltageV - rest.endVoltageV) / currentA);
    return {
      step: k,
      direction: step.endCurrentA > 0 ? 'charge' : 'discharge',
      currentA: step.endCurrentA,
      durationS: step.durationS,
      intendedDurationS,
      endedEarly: step.durationS < 0.95 * intendedDurationS,
      restVoltageV: rest.endVoltageV,
      firstResistanceOhm: rise(step.startVoltageV, step.startCurrentA),
      endResistanceOhm: rise(step.endVoltageV, step.endCurrentA),
    };
  });
}

function intended(durationS: number, usual: readonly number[]): number {
  if (usual.some((one) => Math.abs(one - durationS) <= 0.05 * one)) return durationS;
  return usual.find((one) => one > durationS) ?? durationS;
}
