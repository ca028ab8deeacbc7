import { z } from 'zod';
import { reasonCode } from './reasons.ts';
import { residualChecks } from './residualChecks.ts';

const number = z.number();
const nullableNumber = z.number().nullable();

export const stepKind = z.enum(['rest', 'constant-current', 'constant-voltage', 'ramp']);
export const direction = z.enum(['charge', 'discharge']);

/** A stretch of the record with one control mode. Rows are 0-based; `lastRow` is included. */
export const pulseRecordStep = z.object({
  index: z.int(),
  kind: stepKind,
  firstRow: z.int(),
  lastRow: z.int(),
  startTimeS: number,
  durationS: number,
  meanCurrentA: number,
  startVoltageV: number,
  endVoltageV: number,
  /** Charge moved in the step, positive on charge. */
  chargeAh: number,
  /** SOC at the beginning of the step, where the start is known. */
  socBefore: nullableNumber,
  meanTemperatureC: nullableNumber,
  /** Time without rows before the step where it is out of proportion, else 0. */
  gapBeforeS: number,
  /** The instrument's step number, where recorded. */
  recordedStep: nullableNumber,
});

export const timedResistance = z.object({
  durationS: number,
  valueOhm: nullableNumber,
  standardUncertaintyOhm: nullableNumber,
  /**
   * Why the value is missing: pulse-too-short, sampling-too-coarse, current-not-settled, wrong-sign.
   */
  reason: reasonCode,
  /** The time after the step of the sample or the two samples used. */
  sampledAtS: nullableNumber,
  /** Which method and clause the evaluation follows. */
  method: z.string(),
  /**
   * What the value holds under, where that makes up most of its uncertainty: edge-moment (the rows leave open when the
   * current changed) or earlier-current (too few rows before the pulse to see what earlier currents still do). Null
   * otherwise.
   */
  conditional: reasonCode.default(null),
});

/** How far a fitted circuit may be taken for the cell's. */
export const fitVerdict = z.object({
  /**
   * adequate: it leaves nothing but noise. fit-only: it describes these rows, and its intervals hold for this fit, not for
   * the cell. poor: it misses the voltage by more than a twentieth of the pulse.
   */
  code: z.enum(['adequate', 'fit-only', 'poor']),
  /** residuals-correlated, as-many-branches-as-tried, better-fit-refused, too-few-rows, large-residual; null where it is adequate. */
  reason: reasonCode,
  largestResidualV: number,
  /** The same as a share of the pulse's change of voltage. */
  shareOfPulse: nullableNumber,
});

/** Circuit model: OCV + slope · charge + R0 + branches × (R ∥ C), fitted on the measured current. */
export const circuitFit = z.object({
  branches: z.int().min(0).max(3),
  ocvV: number,
  ocvStandardErrorV: nullableNumber,
  /** Change of OCV per ampere-second, fitted or taken as zero (then the standard error is null). */
  ocvSlopeVPerAs: number,
  ocvSlopeStandardErrorVPerAs: nullableNumber,
  r0Ohm: number,
  r0StandardErrorOhm: nullableNumber,
  /**
   * R0 contains all that settles with a time constant below this, in s: no faster branch can be distinguished from it.
   * Null in evaluations before version 1.1.0.
   */
  shortestTauS: nullableNumber.default(null),
  r1Ohm: nullableNumber,
  r1StandardErrorOhm: nullableNumber,
  tau1S: nullableNumber,
  tau1StandardErrorS: nullableNumber,
  r2Ohm: nullableNumber,
  r2StandardErrorOhm: nullableNumber,
  tau2S: nullableNumber,
  tau2StandardErrorS: nullableNumber,
  r3Ohm: nullableNumber,
  r3StandardErrorOhm: nullableNumber,
  tau3S: nullableNumber,
  tau3StandardErrorS: nullableNumber,
  residualSdV: number,
  termination: z.string(),
  aicc: nullableNumber,
  /** Names and covariance in this order: units are the products of the parameters' units. */
  covariance: z.object({ names: z.array(z.string()), matrix: z.array(z.array(number)) }).nullable(),
  /** What the residuals say: white, correlated, or too few rows to tell. */
  residualCheck: z.object({
    verdict: z.enum(['white', 'correlated', 'too-few']),
    lagOneCorrelation: nullableNumber,
    largestV: number,
  }),
  /** The usual tests of the residuals in the order of time; null in evaluations before version 1.8.0. */
  residualChecks: residualChecks.nullable().default(null),
  /** What the residuals make of the circuit; null in evaluations before version 1.4.0. */
  fitVerdict: fitVerdict.nullable().default(null),
  /**
   * Parameters that hold only under something the data cannot tell: edge-moment, earlier-current, ocv-slope, or sampling (R0,
   * where the rows leave in it what settles in more than a tenth of a second).
   */
  conditional: z.array(z.object({ parameter: z.string(), on: z.string() })).default([]),
  /**
   * What earlier currents had left at `firstRow`, each part decaying with its time constant: taken off by the fit. Empty
   * after a settled rest.
   */
  history: z.array(z.object({ leftV: number, tauS: number })).default([]),
  /** The moments at which the fit has the current begin and end; null in evaluations before version 1.4.0. */
  edges: z.object({ beginTimeS: number, endTimeS: nullableNumber, openS: number }).nullable().default(null),
  /** Factor on the standard errors for correlated residuals; 1 where they are white. */
  standardErrorFactor: number,
  /** Rows of the record the fit used. */
  firstRow: z.int(),
  lastRow: z.int(),
  rows: z.int(),
  /** The numbers of branches that were tried, and why each was or was not taken. */
  candidates: z.array(
    z.object({
      branches: z.int(),
      withSlope: z.boolean(),
      withDrift: z.boolean().default(false),
      aicc: nullableNumber,
      residualSdV: nullableNumber,
      chosen: z.boolean(),
      reason: reasonCode,
    }),
  ),
});

export const evaluatedPulse = z.object({
  index: z.int(),
  stepIndex: z.int(),
  startTimeS: number,
  durationS: number,
  /** Mean of the settled current, positive on charge. */
  currentA: number,
  /** In multiples of the rated capacity per hour, where that is known. */
  rateC: nullableNumber,
  direction,
  socBefore: nullableNumber,
  socBeforeReason: reasonCode,
  temperatureC: nullableNumber,
  temperatureReason: reasonCode,
  /** Temperature rise during the pulse. */
  temperatureRiseC: nullableNumber,
  /** Voltage just before the step. */
  restVoltageV: number,
  restVoltageStandardUncertaintyV: number,
  /** Current just before the step: 0 for a pulse out of rest. */
  restCurrentA: number,
  /** Time the rest before the pulse lasted. */
  restBeforeS: number,
  endVoltageV: number,
  /** What ended the pulse: time, voltage-limit or record-end. */
  endedBy: z.enum(['time', 'voltage-limit', 'record-end']),
  resistances: z.array(timedResistance),
  /** R at the first row under the full current: the shortest time that this record has. */
  firstResistance: timedResistance.nullable().default(null),
  /**
   * What earlier currents still did at the beginning: settled, relaxing (taken off by the fit), unknown (too few rows
   * before the pulse to tell). Null in evaluations before version 1.4.0.
   */
  earlierCurrent: z.enum(['settled', 'relaxing', 'unknown']).nullable().default(null),
  circuit: circuitFit.nullable(),
  circuitReason: reasonCode,
});

export type StepKind = z.infer<typeof stepKind>;
export type PulseDirection = z.infer<typeof direction>;
export type PulseRecordStep = z.infer<typeof pulseRecordStep>;
export type TimedResistance = z.infer<typeof timedResistance>;
export type FitVerdict = z.infer<typeof fitVerdict>;
export type CircuitFit = z.infer<typeof circuitFit>;
export type EvaluatedPulse = z.infer<typeof evaluatedPulse>;
