import { z } from 'zod';
import { capacityResult } from './capacity.ts';
import { id, instant, pageOf, pageQuery, remark, version } from './common.ts';
import { impedanceResult, impedanceSettings } from './impedance.ts';
import { evaluatedPulseRecord } from './pulseRecord.ts';

export const testKind = z.enum(['pulse', 'capacity', 'rest', 'impedance', 'cycling']);

export const test = z.object({
  id,
  version,
  cellId: id,
  cellSerial: z.string(),
  lotId: id,
  lotName: z.string(),
  kind: testKind,
  label: z.string(),
  startedAt: z.string().nullable(),
  temperatureC: z.number().nullable(),
  cycle: z.number().nullable(),
  efc: z.number().nullable(),
  startSoc: z.number().nullable(),
  instrument: z.string(),
  fixtureOhm: z.number().nullable(),
  fixtureUncertaintyOhm: z.number().nullable(),
  note: z.string(),
  createdAt: instant,
  evaluatedAt: instant.nullable(),
  evaluationError: z.string().nullable(),
  /** First of the runs of its file with which it is evaluated as one record; null where it is evaluated alone. */
  evaluatedWithId: id.nullable(),
  /** Runs of the same cell that its file holds, this one included. */
  runsOfFile: z.int(),
  sourceFileId: id.nullable(),
  sourceFileName: z.string().nullable(),
  record: z
    .object({
      rowCount: z.int(),
      durationS: z.number(),
      columns: z.array(z.object({ name: z.string(), unit: z.string() })),
      storedBytes: z.int(),
    })
    .nullable(),
  /** Impedance spectra; null for a test without any. */
  spectra: z.object({ sweepCount: z.int(), pointCount: z.int() }).nullable(),
});

export const testQuery = pageQuery.extend({
  lotId: z.coerce.number().int().optional(),
  cellId: z.coerce.number().int().optional(),
  kind: testKind.optional(),
  /** `no`: still to be evaluated; `failed`: evaluation refused. */
  evaluated: z.enum(['yes', 'no', 'failed']).optional(),
});
export const testPage = pageOf(test);

export const changeTest = z
  .object({
    kind: testKind,
    label: z.string().max(200),
    temperatureC: z.number().min(-100).max(200).nullable(),
    startSoc: z.number().min(0).max(1).nullable(),
    cycle: z.number().min(0).nullable(),
    fixtureOhm: z.number().min(0).max(10).nullable(),
    fixtureUncertaintyOhm: z.number().min(0).max(10).nullable(),
    note: remark,
  })
  .partial();

/** How a test is to be evaluated; what is left out is taken from the test, the cell type, or the evaluation's default. */
export const evaluationSettings = z
  .object({
    startSoc: z.number().min(0).max(1),
    durationsS: z.array(z.number().positive().max(86_400)).max(40),
    maxBranches: z.int().min(0).max(3),
    cutoffVoltageV: z.number().positive().max(10),
    minVoltageV: z.number().min(0).max(10),
    maxVoltageV: z.number().min(0).max(10),
    ratedCapacityAh: z.number().positive(),
    /**
     * Whether the runs of the test's file and cell are evaluated as one record, by the kind of this test; stays so until it
     * is said otherwise.
     */
    together: z.boolean(),
    /**
     * Time from the last row of a run to the first of the next, where the runs do not begin with an instant. Left out: as
     * before, or as long as the rows lie apart there.
     */
    runGapS: z.number().min(0).max(1e8),
    /** The cell's own capacity, in which SOC is counted: as measured at the test's age, else the rated capacity. */
    cellCapacityAh: z.number().positive(),
    ...impedanceSettings.shape,
  })
  .partial();

/** No temperature was recorded that shows how that of the cell moved: the uncertainty of a drift allows for the days of a room. */
export const restAssumption = z.literal('room-temperature-assumed');

/** Drift of a rested cell: the change of its open-circuit voltage per day (K value). */
export const restResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('rest'), version: z.string() }),
  rows: z.int(),
  durationS: z.number(),
  lastVoltageV: z.number(),
  /** First time that was used: the earlier part still relaxes. */
  usedFromS: z.number().nullable(),
  driftMvPerDay: z.number().nullable(),
  driftStandardUncertaintyMvPerDay: z.number().nullable(),
  reason: z.string().nullable(),
  /** What the uncertainty takes for granted. Missing in evaluations before version 1.5.0. */
  assumes: restAssumption.nullable().optional(),
  temperatureMeanC: z.number().nullable(),
});

/** The result of an evaluation, by the kind of the test. */
export const evaluationResult = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('pulse'), result: evaluatedPulseRecord }),
  z.object({ kind: z.literal('capacity'), result: capacityResult }),
  z.object({ kind: z.literal('rest'), result: restResult }),
  z.object({ kind: z.literal('impedance'), result: impedanceResult }),
]);

export const fitHead = z.object({
  id,
  kind: z.string(),
  /** What is followed, where fits of one kind and subject stand side by side: ageing. */
  quantity: z.string().nullable(),
  testId: id.nullable(),
  cellId: id.nullable(),
  algorithm: z.string(),
  algorithmVersion: z.string(),
  createdAt: instant,
  createdBy: z.string(),
  supersededAt: instant.nullable(),
  supersededById: id.nullable(),
});

/** An evaluation as stored: never edited, only superseded. */
export const evaluation = z.object({
  fit: fitHead,
  settings: evaluationSettings,
  evaluation: evaluationResult,
});
export const evaluationHistory = z.object({ items: z.array(fitHead) });

export const seriesQuery = z.object({
  /** Seconds from the start of the record. */
  fromS: z.coerce.number().optional(),
  toS: z.coerce.number().optional(),
  /** Pixels of the screen; minimum and maximum are kept for each. */
  points: z.coerce.number().int().min(10).max(20_000).default(1200),
});

/** A stretch of a record. `exact`: every sample is there; otherwise minimum and maximum of each pixel. */
export const series = z.object({
  testId: id,
  exact: z.boolean(),
  rowCount: z.int(),
  firstRow: z.int(),
  lastRow: z.int(),
  timeS: z.array(z.number()),
  columns: z.array(z.object({ name: z.string(), unit: z.string(), values: z.array(z.number().nullable()) })),
});

/** The fitted voltage beside the measured one for one pulse, for drawing. */
export const fittedPulse = z.object({
  testId: id,
  pulseIndex: z.int(),
  timeS: z.array(z.number()),
  measuredV: z.array(z.number()),
  fittedV: z.array(z.number()),
  residualV: z.array(z.number()),
});

export const testStep = z.object({
  position: z.int(),
  origin: z.enum(['record', 'table']),
  mode: z.string(),
  startTimeS: z.number(),
  durationS: z.number(),
  startRow: z.int().nullable(),
  endRow: z.int().nullable(),
  meanCurrentA: z.number().nullable(),
  startVoltageV: z.number().nullable(),
  endVoltageV: z.number().nullable(),
  chargeAh: z.number().nullable(),
  cycle: z.number().nullable(),
});
export const testStepList = z.object({ items: z.array(testStep) });

export type TestKind = z.infer<typeof testKind>;
export type Test = z.infer<typeof test>;
export type ChangeTest = z.infer<typeof changeTest>;
export type EvaluationSettings = z.infer<typeof evaluationSettings>;
export type EvaluationResult = z.infer<typeof evaluationResult>;
export type Evaluation = z.infer<typeof evaluation>;
export type FitHead = z.infer<typeof fitHead>;
export type RestResult = z.infer<typeof restResult>;
export type Series = z.infer<typeof series>;
export type FittedPulse = z.infer<typeof fittedPulse>;
export type TestStep = z.infer<typeof testStep>;
