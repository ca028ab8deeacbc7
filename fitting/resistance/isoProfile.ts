import type { Pulse, RecordColumns, Step } from '../records/index.ts';
import { rowAtOrAfter } from '../records/index.ts';

/** Times after the beginning at which ISO 12405-4 evaluates the discharge part of its pulse-power profile. */
export const ISO_DISCHARGE_TIMES_S = [0.1, 2, 5, 10, 18, 18.1, 20, 30, 60, 90, 120] as const;
/** The same for the charge part. */
export const ISO_CHARGE_TIMES_S = [0.1, 2, 10, 20] as const;

/** One evaluation of the profile. */
export interface IsoPoint {
  readonly timeS: number;
  readonly voltageV: number | null;
  readonly currentA: number | null;
  /** (U₀ − U(t))/I_max of the pulse, as the standard defines it (the definition from memory). */
  readonly valueOhm: number | null;
  readonly powerW: number | null;
  readonly reason: 'beyond-profile' | 'sampling-too-coarse' | null;
}

/**
 * Recognises the pulse-power profile of ISO 12405-4 (18 s at the largest current, then 102 s at three
 * quarters of it) in a discharge pulse and the step after it.
 */
export function isIsoProfile(record: RecordColumns, steps: readonly Step[], pulse: Pulse): boolean {
  const next = steps[pulse.lastStep + 1];
  return (
    pulse.direction === 'discharge' &&
    Math.abs(pulse.durationS - 18) < 1 &&
    next !== undefined &&
    next.kind === 'constant-current' &&
    next.gapBeforeS === 0 &&
    Math.abs(next.currentA / pulse.currentA - 0.75) < 0.05 &&
    record.timeS[next.end - 1] - pulse.startTimeS > 60
  );
}

/**
 * Evaluates a profile at the standard's times, against the voltage just before it and the current of the
 * pulse itself.
 *
 * @param end row after the last of the profile
 * @param times `ISO_DISCHARGE_TIMES_S` or `ISO_CHARGE_TIMES_S`
 */
export function evaluateIsoProfile(
  record: RecordColumns,
  pulse: Pulse,
  baseVoltageV: number,
  end: number,
  times: readonly number[],
): IsoPoint[] {
  const { timeS, voltageV, currentA } = record;
  return times.map((time) => {
    const missing = (reason: IsoPoint['reason']): IsoPoint => ({
      timeS: time,
      voltageV: null,
      currentA: null,
      valueOhm: null,
      powerW: null,
      reason,
    });
    const target = pulse.zeroTimeS + time;
    if (timeS[end - 1] < target - 0.02 * time) return missing('beyond-profile');
    const after = Math.min(rowAtOrAfter(timeS, target, pulse.start, end), end - 1);
    const row = after > pulse.start && target - timeS[after - 1] < timeS[after] - target ? after - 1 : after;
    if (Math.abs(timeS[row] - target) > Math.max(0.02 * time, 0.06)) return missing('sampling-too-coarse');
    return {
      timeS: time,
      voltageV: voltageV[row],
      currentA: currentA[row],
      valueOhm: Math.abs((baseVoltageV - voltageV[row]) / pulse.currentA),
      powerW: Math.abs(voltageV[row] * currentA[row]),
      reason: null,
    };
  });
}
