import { z } from 'zod';
import { direction, evaluatedPulse, pulseRecordStep } from './evaluatedPulse.ts';
import { joinedRuns } from './joinedRuns.ts';
import { openCircuitCurve, restPoint } from './openCircuit.ts';
import { reasonCode } from './reasons.ts';
import { isoEvaluation, pulsePower, twoLevelResistance } from './resistanceMethods.ts';

const number = z.number();
const nullableNumber = z.number().nullable();

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

/** The voltage that a rest gave back after a steady load, over the load's current. */
export const restPolarisation = z.object({
  stepIndex: z.int(),
  soc: nullableNumber,
  temperatureC: nullableNumber,
  currentA: number,
  loadS: number,
  restS: number,
  resistanceOhm: number,
  standardUncertaintyOhm: number,
  /** Time constant of the slow part of the relaxation; null where the rest shows none. */
  tauS: nullableNumber,
  /**
   * The slow processes, with time constants that all rests of the record share, and what each of them had built up over
   * the load's current. Absent in evaluations of earlier versions.
   */
  slow: z.array(z.object({ tauS: number, resistanceOhm: number })).default([]),
});

export const pulseSettings = z.object({
  ratedCapacityAh: nullableNumber,
  /** The cell's own capacity, in which SOC is counted; null, and before version 1.6.0: in the rated capacity. */
  cellCapacityAh: nullableNumber.default(null),
  /** Whether that capacity was stated for this evaluation, or is the one measured of the cell, which may change. */
  cellCapacityBasis: z.enum(['stated', 'measured']).nullable().default(null),
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

/**
 * Result of evaluating a pulse record. Units are in the names; current is positive on charge; SOC is 0…1; a
 * missing number is null and a `reason` beside it holds a code.
 */
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
    /**
     * How the current was taken to change at the edges of pulses: `between` the rows, at the moment that they and the
     * relaxation point to, with what is open of it in the uncertainties; `sharp` right after the row before, through a
     * lagging channel; `linear` from row to row, in evaluations before version 1.4.0.
     */
    edges: z.enum(['between', 'sharp', 'linear']),
    /** Time after every edge that the circuit fits leave out, because the instrument had not settled. */
    unsettledS: number,
    /**
     * First-order lag of the voltage channel behind the edges of the current, found in the record, through which
     * the circuits were fitted; null where none was found, and before version 1.1.0.
     */
    voltageLagS: nullableNumber.default(null),
    voltageLagStandardErrorS: nullableNumber.default(null),
    /** State of charge at the first row, and whether it was stated or derived from the record; null before version 1.4.0. */
    startSoc: nullableNumber.default(null),
    startSocBasis: z
      .enum(['stated', 'begins-full', 'reaches-full', 'reaches-empty'])
      .nullable()
      .default(null),
    /** Median jump of the voltage per ampere between rest and load. */
    edgeResistanceOhm: nullableNumber,
    /** How several runs of a file make this record. */
    joined: joinedRuns,
  }),
  steps: z.array(pulseRecordStep),
  pulses: z.array(evaluatedPulse),
  twoLevelResistances: z.array(twoLevelResistance),
  pulsePowers: z.array(pulsePower),
  isoEvaluations: z.array(isoEvaluation),
  rests: z.array(restPoint),
  /**
   * What long steady loads had built up, seen in the long rests after them: the way to polarisation slower than a pulse.
   * Absent in evaluations of earlier versions.
   */
  restPolarisations: z.array(restPolarisation).default([]),
  openCircuit: openCircuitCurve.nullable(),
  openCircuitReason: reasonCode,
  table: z.array(parameterTableRow),
  warnings: z.array(pulseWarning),
});

export type ParameterTableRow = z.infer<typeof parameterTableRow>;
export type PulseWarning = z.infer<typeof pulseWarning>;
export type PulseSettings = z.infer<typeof pulseSettings>;
export type EvaluatedPulseRecord = z.infer<typeof evaluatedPulseRecord>;
