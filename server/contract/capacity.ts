import { z } from 'zod';
import { joinedRuns } from './joinedRuns.ts';
import { openCircuitCurve } from './openCircuit.ts';

/** Codes that say why a number of a capacity run is null, or why a run is marked. */
export const capacityReason = z.enum([
  'did-not-reach-cutoff',
  'no-cutoff-stated',
  'too-few-samples',
  'zero',
  'above-plausible-limit',
  'no-matching-charge',
  'no-matching-discharge',
  'charge-not-from-empty',
  'gap-in-record',
  'starts-under-load',
  'voltage-against-current',
]);

/**
 * How the end of a discharge is read: the crossing of the cut-off interpolated between two samples, up to and
 * including the first sample below the cut-off, or the whole record.
 */
export const capacityDefinition = z.enum(['interpolated-crossing', 'first-sample-below', 'whole-record']);

const numberOrNull = z.number().nullable();

/** Shares of the constant-current and constant-voltage parts of one charge. */
export const chargePhases = z.object({
  constantCurrentAh: z.number(),
  constantVoltageAh: z.number(),
  constantCurrentShare: z.number().min(0).max(1),
  constantVoltageShare: z.number().min(0).max(1),
  constantCurrentS: z.number(),
  constantVoltageS: z.number(),
  holdVoltageV: numberOrNull,
  endCurrentA: numberOrNull,
});

/** Time from the start of a charge to a share of what this charge put in (or of the rated capacity, if stated). */
export const chargeTime = z.object({
  soc: z.number(),
  timeS: numberOrNull,
  reason: capacityReason.nullable(),
});

/** One discharge or charge found in a record. Charge and energy are positive amounts in either direction. */
export const capacityRun = z.object({
  index: z.number().int(),
  label: z.string().nullable(),
  direction: z.enum(['discharge', 'charge']),
  startRow: z.number().int(),
  endRow: z.number().int(),
  startTimeS: z.number(),
  endTimeS: z.number(),
  capacityAh: numberOrNull,
  /**
   * From sampling, noise and resolution of the record: the 1.96-fold is the 95 % interval's half-width. The instrument's
   * own accuracy comes on top.
   */
  standardUncertaintyAh: numberOrNull,
  /** 95 % interval of the capacity; null in evaluations before version 2.0.0. */
  interval95Ah: z.tuple([z.number(), z.number()]).nullable().default(null),
  /**
   * What an error of the instrument that no record shows does to the capacity, the same in all records of its channel: Ah for
   * a gain of 1 %, and Ah for an offset of 1 mA where no rest of the record shows the offset (null where one does).
   */
  systematic: z
    .object({ perPercentOfGainAh: z.number(), perMilliampOfOffsetAh: numberOrNull })
    .nullable()
    .default(null),
  /** How the run begins: in the record, freshly with it, or in the middle; see the warning `starts-under-load`. */
  start: z.enum(['in-record', 'fresh', 'under-way', 'unclear']).default('in-record'),
  /** What the capacity holds only under, because the record cannot tell; null where it holds as it is. */
  conditional: z.enum(['starts-under-load', 'ends-under-load']).nullable().default(null),
  energyWh: numberOrNull,
  cutoffVoltageV: numberOrNull,
  reachedCutoff: z.boolean(),
  reason: capacityReason.nullable(),
  crossingTimeS: numberOrNull,
  chargeToEndAh: z.number(),
  energyToEndWh: z.number(),
  meanCurrentA: numberOrNull,
  rateC: numberOrNull,
  temperatureMeanC: numberOrNull,
  temperatureMaximumC: numberOrNull,
  plausible: z.boolean(),
  implausibleReason: capacityReason.nullable(),
  phases: chargePhases.nullable(),
  chargeTimes: z.array(chargeTime),
});

/** A charge and the discharge that follows it (or the other way round), taken as one cycle. */
export const cycleEfficiency = z.object({
  chargeRun: z.number().int().nullable(),
  dischargeRun: z.number().int().nullable(),
  coulombicEfficiency: numberOrNull,
  energyEfficiency: numberOrNull,
  reason: capacityReason.nullable(),
});

/** A remark on the whole record, with the runs (by index) or rows it is about. */
export const capacityWarning = z.object({
  code: z.enum([
    'implausible-capacity',
    'did-not-reach-cutoff',
    'cutoff-taken-from-record',
    'no-runs',
    'gap-in-record',
    'start-up-spike-ignored',
    'bad-rows-replaced',
    'dip-below-cutoff',
    'pause-without-rows',
    'starts-under-load',
    'ends-under-load',
    'voltage-against-current',
    'current-offset-corrected',
  ]),
  runs: z.array(z.number().int()),
  rows: z.array(z.number().int()),
});

/** Result of `gemel evaluate capacity FILE` and of evaluating a stored capacity test. */
export const capacityResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('capacity'), version: z.string() }),
  rows: z.number().int(),
  /** How several runs of a file make the record. */
  joined: joinedRuns,
  definition: capacityDefinition,
  ratedCapacityAh: numberOrNull,
  plausibleUpToAh: numberOrNull,
  /** Offset of the current channel, read in rest and taken off the current; null where no rest shows one. */
  currentOffsetA: numberOrNull.default(null),
  runs: z.array(capacityRun),
  cycles: z.array(cycleEfficiency),
  /**
   * From a slow discharge and charge (C/10 or slower over most of the capacity), where the record has one and no slow
   * discharge stopped above the cut-off with less than 95 % of the rated capacity.
   */
  openCircuit: openCircuitCurve.nullable().default(null),
  warnings: z.array(capacityWarning),
});

export type CapacityDefinition = z.infer<typeof capacityDefinition>;
export type CapacityRun = z.infer<typeof capacityRun>;
export type CapacityResult = z.infer<typeof capacityResult>;
