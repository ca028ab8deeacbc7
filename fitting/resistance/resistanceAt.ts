import type { Pulse } from '../records/pulses.ts';
import type { RecordColumns } from '../records/record.ts';
import { rowAtOrAfter } from '../records/resample.ts';
import type { BaseVoltage } from './baseVoltage.ts';

/** Why a resistance at a duration is missing. */
export type ResistanceReason =
  | 'pulse-too-short'
  | 'sampling-too-coarse'
  | 'current-not-settled'
  | 'wrong-sign';

/** A resistance with the duration it belongs to. */
export interface ResistanceAtTime {
  readonly durationS: number;
  readonly valueOhm: number | null;
  readonly standardUncertaintyOhm: number | null;
  readonly reason: ResistanceReason | null;
  /** Time after the step of the reading used; for two readings the duration itself. */
  readonly sampledAtS: number | null;
}

/** Noise of single readings. */
export interface ReadingNoise {
  readonly voltageV: number;
  readonly currentA: number;
}

/**
 * R(t) = (U(t) − U₀) / (I(t) − I₀) at `durationS` after the step, each reading divided by the current flowing
 * at that same reading.
 *
 * The reading within 2 % of the duration is used; else the two around it are interpolated, provided they are
 * no farther apart than one and a half times the duration. Nothing is extrapolated: a shorter pulse (by more
 * than 2 %) or coarser sampling gives null with a reason. Uncertainty: noise and resolution of U(t) and U₀,
 * of the current, the drift before the step over the duration (taken as rectangular), the moment of the step,
 * the interpolation, and a current that did not stay constant.
 */
export function resistanceAt(
  record: RecordColumns,
  pulse: Pulse,
  base: BaseVoltage,
  noise: ReadingNoise,
  durationS: number,
): ResistanceAtTime {
  const missing = (reason: ResistanceReason): ResistanceAtTime => ({
    durationS,
    valueOhm: null,
    standardUncertaintyOhm: null,
    reason,
    sampledAtS: null,
  });
  const { timeS } = record;
  const targetS = pulse.zeroTimeS + durationS;
  const slackS = 0.02 * durationS;
  if (timeS[pulse.end - 1] < targetS - slackS) return missing('pulse-too-short');
  const after = rowAtOrAfter(timeS, targetS, pulse.start, pulse.end);
  const late = Math.min(after, pulse.end - 1);
  const early = Math.max(late - 1, pulse.start);
  const nearest = targetS - timeS[early] < Math.abs(timeS[late] - targetS) ? early : late;
  let lower = nearest;
  let upper = nearest;
  if (Math.abs(timeS[nearest] - targetS) > slackS) {
    lower = early;
    upper = late;
    const bracketed = timeS[lower] < targetS && timeS[upper] > targetS;
    if (!bracketed || timeS[upper] - timeS[lower] > 1.5 * durationS) return missing('sampling-too-coarse');
  }
  const low = quotient(record, base, lower);
  const high = quotient(record, base, upper);
  const full = pulse.currentA - base.currentA;
  for (const reading of [low, high]) {
    if (Math.abs(reading.currentA) < 0.5 * Math.abs(full)) return missing('current-not-settled');
    if (!(reading.ohm > 0)) return missing('wrong-sign');
  }
  const share = upper === lower ? 0 : (targetS - timeS[lower]) / (timeS[upper] - timeS[lower]);
  const valueOhm = low.ohm + share * (high.ohm - low.ohm);
  const flowingA = low.currentA + share * (high.currentA - low.currentA);
  return {
    durationS,
    valueOhm,
    standardUncertaintyOhm: Math.hypot(
      ...uncertaintyParts(record, pulse, base, noise, durationS, { lower, upper, valueOhm, flowingA }),
      0.3 * Math.abs(high.ohm - low.ohm) * 2 * share * (1 - share),
    ),
    reason: null,
    sampledAtS: upper === lower ? timeS[nearest] - pulse.zeroTimeS : durationS,
  };
}

function quotient(record: RecordColumns, base: BaseVoltage, row: number): { ohm: number; currentA: number } {
  const currentA = record.currentA[row] - base.currentA;
  return { ohm: (record.voltageV[row] - base.voltageV) / currentA, currentA };
}

function uncertaintyParts(
  record: RecordColumns,
  pulse: Pulse,
  base: BaseVoltage,
  noise: ReadingNoise,
  durationS: number,
  reading: { lower: number; upper: number; valueOhm: number; flowingA: number },
): number[] {
  const { valueOhm, flowingA, lower, upper } = reading;
  const { timeS } = record;
  const currentNoise = Math.hypot(noise.currentA, noise.currentA / Math.sqrt(base.rows));
  const nextRow = Math.min(upper + 1, pulse.end - 1);
  const beforeRow = Math.max(lower - 1, pulse.start);
  const spanS = timeS[nextRow] - timeS[beforeRow];
  const slope =
    spanS > 0
      ? (quotient(record, base, nextRow).ohm - quotient(record, base, beforeRow).ohm) / spanS
      : valueOhm / durationS;
  let mean = 0;
  let first = pulse.start;
  while (first < lower && Math.abs(record.currentA[first] - base.currentA) < 0.9 * Math.abs(flowingA))
    first++;
  for (let i = first; i <= lower; i++) mean += (record.currentA[i] - base.currentA) / (lower - first + 1);
  const polarisation = valueOhm - quotient(record, base, first).ohm;
  return [
    noise.voltageV / flowingA,
    base.standardUncertaintyV / flowingA,
    (valueOhm * currentNoise) / flowingA,
    (base.driftVPerS * durationS) / flowingA / Math.sqrt(3),
    slope * pulse.zeroUncertaintyS,
    polarisation * (1 - mean / flowingA),
  ];
}
