import { z } from 'zod';

/**
 * Result of evaluating a pulse record. Units are in the names; current is positive on charge; SOC is 0…1; a
 * missing number is null and a `reason` beside it holds a code.
 */

const number = z.number();
const nullableNumber = z.number().nullable();
const reasonCode = z.string().nullable();

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
   * Why the value is missing: pulse-too-short, sampling-too-coarse, current-not-settled, no-step-in-current.
   */
  reason: reasonCode,
  /** The time after the step of the sample or the two samples used. */
  sampledAtS: nullableNumber,
  /** Which method and clause the evaluation follows. */
  method: z.string(),
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
  circuit: circuitFit.nullable(),
  circuitReason: reasonCode,
});

/** DC resistance by the two-level method of IEC 61960-3. */
export const twoLevelResistance = z.object({
  startTimeS: number,
  firstCurrentA: number,
  secondCurrentA: number,
  firstVoltageV: nullableNumber,
  secondVoltageV: nullableNumber,
  valueOhm: nullableNumber,
  standardUncertaintyOhm: nullableNumber,
  socBefore: nullableNumber,
  temperatureC: nullableNumber,
  reason: reasonCode,
  method: z.string(),
});

/** Pulse-power resistance and power of the HPPC kind: a discharge pulse, a rest and a charge pulse. */
export const pulsePower = z.object({
  dischargePulseIndex: z.int(),
  chargePulseIndex: z.int().nullable(),
  socBefore: nullableNumber,
  dischargeDurationS: number,
  dischargeResistanceOhm: nullableNumber,
  dischargeStandardUncertaintyOhm: nullableNumber,
  dischargeOcvV: nullableNumber,
  dischargePowerW: nullableNumber,
  /** Why the power is missing, or `limit-reached` where the pulse itself met the voltage limit. */
  dischargeReason: reasonCode,
  chargeDurationS: nullableNumber,
  chargeResistanceOhm: nullableNumber,
  chargeStandardUncertaintyOhm: nullableNumber,
  /** OCV at the depth of discharge after the discharge pulse. */
  chargeOcvV: nullableNumber,
  chargePowerW: nullableNumber,
  chargeReason: reasonCode,
  method: z.string(),
});

/** Pulse-power profile of ISO 12405-4, evaluated at the standard's times against the current of the pulse. */
export const isoEvaluation = z.object({
  pulseIndex: z.int(),
  direction,
  pulseCurrentA: number,
  points: z.array(
    z.object({
      timeS: number,
      voltageV: nullableNumber,
      currentA: nullableNumber,
      valueOhm: nullableNumber,
      powerW: nullableNumber,
      reason: reasonCode,
    }),
  ),
  method: z.string(),
});

/** Open-circuit voltage at the end of a rest. */
export const restPoint = z.object({
  stepIndex: z.int(),
  timeS: number,
  restS: number,
  soc: nullableNumber,
  temperatureC: nullableNumber,
  /** Last voltage of the rest. */
  voltageV: number,
  /** OCV with the relaxation extrapolated by the fitted model; null where that cannot be done. */
  ocvV: nullableNumber,
  ocvStandardUncertaintyV: nullableNumber,
  /** How far the extrapolation goes beyond the last voltage. */
  extrapolatedV: nullableNumber,
  reason: reasonCode,
  after: z.enum(['charge', 'discharge', 'unknown']),
  /** Slope at the end of the rest and its uncertainty (the K value), in mV a day. */
  driftMvPerDay: nullableNumber,
  driftStandardUncertaintyMvPerDay: nullableNumber,
  driftReason: reasonCode,
});

export const openCircuitCurve = z.object({
  source: z.enum(['rests', 'slow-discharge', 'slow-charge', 'slow-average']),
  soc: z.array(number),
  ocvV: z.array(number),
  standardUncertaintyV: z.array(number),
  /** dOCV/dSOC in V per unit of SOC, at the same SOC. */
  slopeV: z.array(number),
  /** Charge minus discharge at the same SOC, where both are known. */
  hysteresisV: z.array(nullableNumber),
});

/** One row of the parameter table. */
export const parameterTableRow = z.object({
  direction,
  soc: nullableNumber,
  temperatureC: nullableNumber,
  currentA: number,
  pulseIndex: z.int(),
  ocvV: nullableNumber,
  r0Ohm: nullableNumber,
  r1Ohm: nullableNumber,
  tau1S: nullableNumber,
  r2Ohm: nullableNumber,
  tau2S: nullableNumber,
  r3Ohm: nullableNumber,
  tau3S: nullableNumber,
});

export const pulseWarning = z.object({
  code: z.string(),
  /** One English sentence with the figures. */
  message: z.string(),
  row: z.int().nullable(),
  timeS: nullableNumber,
});

export const pulseSettings = z.object({
  ratedCapacityAh: nullableNumber,
  startSoc: nullableNumber,
  durationsS: z.array(number),
  maxBranches: z.int(),
  minVoltageV: nullableNumber,
  maxVoltageV: nullableNumber,
  fixtureResistanceOhm: nullableNumber,
  fixtureStandardUncertaintyOhm: nullableNumber,
  /** Longest step that counts as a pulse. */
  longestPulseS: number,
});

export const evaluatedPulseRecord = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('pulse-record'), version: z.string() }),
  settings: pulseSettings,
  record: z.object({
    rows: z.int(),
    startTimeS: number,
    durationS: number,
    /** Smallest step of the voltage and current columns, 0 where none is visible. */
    voltageResolutionV: number,
    currentResolutionA: number,
    voltageNoiseV: number,
    restCurrentOffsetA: nullableNumber,
    clockRestarts: z.int(),
    hasTemperature: z.boolean(),
    /** How the current was taken to change between the rows at the edges of steps. */
    edges: z.enum(['sharp', 'linear']),
    /** Time after every edge that the circuit fits leave out, because the instrument had not settled. */
    unsettledS: number,
    /** Median jump of the voltage per ampere between rest and load. */
    edgeResistanceOhm: nullableNumber,
  }),
  steps: z.array(pulseRecordStep),
  pulses: z.array(evaluatedPulse),
  twoLevelResistances: z.array(twoLevelResistance),
  pulsePowers: z.array(pulsePower),
  isoEvaluations: z.array(isoEvaluation),
  rests: z.array(restPoint),
  openCircuit: openCircuitCurve.nullable(),
  openCircuitReason: reasonCode,
  table: z.array(parameterTableRow),
  warnings: z.array(pulseWarning),
});

export type StepKind = z.infer<typeof stepKind>;
export type PulseDirection = z.infer<typeof direction>;
export type PulseRecordStep = z.infer<typeof pulseRecordStep>;
export type TimedResistance = z.infer<typeof timedResistance>;
export type CircuitFit = z.infer<typeof circuitFit>;
export type EvaluatedPulse = z.infer<typeof evaluatedPulse>;
export type TwoLevelResistance = z.infer<typeof twoLevelResistance>;
export type IsoEvaluation = z.infer<typeof isoEvaluation>;
export type PulsePower = z.infer<typeof pulsePower>;
export type RestPoint = z.infer<typeof restPoint>;
export type OpenCircuitCurve = z.infer<typeof openCircuitCurve>;
export type ParameterTableRow = z.infer<typeof parameterTableRow>;
export type PulseWarning = z.infer<typeof pulseWarning>;
export type PulseSettings = z.infer<typeof pulseSettings>;
export type EvaluatedPulseRecord = z.infer<typeof evaluatedPulseRecord>;
