import { z } from 'zod';
import { generalCautions } from './cautions.ts';
import { chargeStudyDescription } from './chargeStudy.ts';

/** Name and version of the evaluation behind a result; changes whenever results may change. */
export const CHARGE_LOG_ALGORITHM = 'charge-log/6';

const number = z.number();
const orNull = z.number().nullable();

/** What a log can be fitted for, cell by cell. */
export const chargeLogQuantity = z.enum(['capacity', 'start-soc', 'r0', 'branches', 'slow-branch', 'heat']);
export type ChargeLogQuantity = z.infer<typeof chargeLogQuantity>;

/** Which parameter of which cell in which log (0 for the first); null for what all of them share. */
const parameterPlace = {
  quantity: z.enum([
    'capacityAh',
    'startSoc',
    'r0Factor',
    'branchFactor',
    'slowOhm',
    'slowTauS',
    'voltageOffsetV',
    'currentOffsetA',
    'edgeFraction',
    'ocvKnotV',
    'heatCapacityJPerK',
    'heatTransferWPerK',
  ]),
  cell: z.string().nullable(),
  log: z.int().nullable(),
};

export const chargeLogEstimate = z.object({
  ...parameterPlace,
  /** Of a correction of the open-circuit curve: where on the curve. */
  soc: orNull.default(null),
  /** Value in the study before the fit. */
  before: number,
  value: number,
  standardError: orNull,
  /** Ends of the 95 % interval. */
  low: orNull,
  high: orNull,
  /** Why there is no interval; beside one, what it is conditional on. */
  reason: z.string().nullable(),
});

export const chargeLogResistance = z.object({
  cell: z.string(),
  /** From the step of the current on. */
  durationS: number,
  /** R(t) with the fitted values over R(t) of the study, both averaged over the logs. */
  ratio: orNull,
  standardError: orNull,
  /** Ends of the 95 % interval. */
  low: orNull,
  high: orNull,
  /** Why there is no ratio or interval. */
  reason: z.enum(['not-identifiable', 'voltage-channel-off', 'does-not-explain-the-log']).nullable(),
});

export const chargeLogResiduals = z.object({
  cell: z.string(),
  log: z.int(),
  rows: number,
  biasV: number,
  rmsV: number,
  largestV: number,
  largestTimeS: number,
});

/** A quantity as measured and as computed; null where it was not reached. */
const pair = z.object({ measured: orNull, computed: orNull });

export const supplyEstimate = z.object({
  value: orNull,
  low: orNull,
  high: orNull,
  reason: z.enum(['not-logged', 'current-hardly-changes', 'no-converter']).nullable(),
});

/** Charge that went in between an emptied and a full cell or stack, with its 95 % interval, or why there is none. */
export const countedCapacity = z.object({
  of: z.enum(['cell', 'stack']),
  valueAh: orNull,
  standardError: orNull,
  low: orNull,
  high: orNull,
  reason: z.enum(['start-not-stated-empty', 'begins-under-current', 'does-not-end-full']).nullable(),
});
export type CountedCapacity = z.infer<typeof countedCapacity>;

/** Measured beside computed values of equal length; computed ones are null where the study does not describe the part. */
const measuredAndComputed = z
  .object({ measured: z.array(number), computed: z.array(number).nullable() })
  .nullable();

/** One measured charge beside the computed one. */
export const oneLogResult = z.object({
  columns: z.array(
    z.object({
      role: z.string(),
      source: z.string(),
      unit: z.string(),
      unitFrom: z.enum(['header', 'units-row', 'given', 'assumed']),
    }),
  ),
  unusedColumns: z.array(z.string()),
  warnings: z.array(z.string()),
  /** What the log itself says of the charge; the computed charge is made under the same conditions. */
  conditions: z.object({
    rows: number,
    durationS: number,
    currentA: number,
    cellVoltageLimitV: orNull,
    endCurrentA: number,
    ambientTemperatureC: number,
    cells: z.array(
      z.object({
        name: z.string(),
        startVoltageV: number,
        startSoc: number,
        /** `rest`: from the open-circuit voltage of the log's first rows; `study`: the log begins under current. */
        startSocFrom: z.enum(['rest', 'study']),
      }),
    ),
  }),
  comparison: z.object({
    /** Sentences, the most important first. */
    verdict: z.array(z.string()),
    cells: z.array(
      chargeLogResiduals.extend({
        deviation: z.object({ fromSoc: number, toSoc: number, fromTimeS: number, meanV: number }).nullable(),
      }),
    ),
    timesS: z.object({ toVoltageLimit: pair, end: pair, atSoc: z.record(z.string(), pair) }),
    chargeAh: pair,
    energyWh: z.object({
      intoStack: pair,
      fromBus: orNull,
      converterLoss: orNull,
      cableLoss: orNull,
      /** Lost in each part; those of cable, converter and connections are computed at the measured currents. */
      losses: z.object({ cable: pair, converter: pair, stackConnections: pair, cells: pair }),
    }),
  }),
  supply: z.object({
    cableOhm: supplyEstimate,
    stackOhm: supplyEstimate,
    converterOhm: supplyEstimate,
    fixedLossA: supplyEstimate,
  }),
  /** Absent in results of earlier versions. */
  countedCapacity: countedCapacity.optional(),
  /** Measured and computed columns of equal length, thinned for drawing. */
  series: z.object({
    timeS: z.array(number),
    currentA: z.array(number),
    stackVoltageV: measuredAndComputed,
    busVoltageV: measuredAndComputed,
    busCurrentA: measuredAndComputed,
    cells: z.array(
      z.object({
        name: z.string(),
        /** Counted from the study's start SOC. */
        soc: z.array(number),
        measuredV: z.array(number),
        computedV: z.array(number),
        fittedV: z.array(number).nullable(),
        measuredC: z.array(number).nullable(),
        /** By the heat balance of the study's cell, from the first measured temperature on. */
        computedC: z.array(number).nullable(),
      }),
    ),
  }),
});
export type OneLogResult = z.infer<typeof oneLogResult>;

/** Measured charges of one stack beside the computed ones; the first log's own fields stand at the top. */
export const chargeLogResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.string(),
  ...oneLogResult.shape,
  furtherLogs: z.array(oneLogResult),
  fit: z
    .object({
      converged: z.boolean(),
      estimates: z.array(chargeLogEstimate),
      /**
       * Resistance a time after a step of the current over that of the study: R0 and branches together, where both were fitted. Absent in
       * results of earlier versions.
       */
      resistances: z.array(chargeLogResistance).optional(),
      /**
       * Standard uncertainty of each open-circuit curve as it is stated, and as the intervals hold it: the stated one, or a larger one that
       * the measured voltages show. Absent in results of earlier versions; without cells where none is stated.
       */
      curves: z.array(z.object({ cell: z.string(), statedV: number, shownV: number })).optional(),
      /** Pairs that the log can hardly separate. */
      inseparable: z.array(
        z.object({ a: z.object(parameterPlace), b: z.object(parameterPlace), correlation: number }),
      ),
      before: z.array(chargeLogResiduals),
      after: z.array(chargeLogResiduals),
      /** Residual variance over that of noise and resolution: near 1 where the model explains the log. */
      misfit: number,
      verdict: z.enum(['explains-the-log', 'does-not-explain-the-log']),
      singleChanges: z.array(z.object({ ...parameterPlace, value: number, explainedShare: number })),
      /** The study with the fitted values in place of its own; absent in results of earlier versions. */
      study: chargeStudyDescription.optional(),
    })
    .nullable(),
  cautions: z.array(z.enum([...generalCautions])),
});
export type ChargeLogResult = z.infer<typeof chargeLogResult>;
export type SupplyEstimateResult = z.infer<typeof supplyEstimate>;
