import { z } from 'zod';
import { generalCautions } from './cautions.ts';
import { chargeNote } from './chargeStudy.ts';

/** Name and version of the computation behind a result; changes whenever results may change. */
export const CHARGE_ALGORITHM = 'charge-collocation/3';

const number = z.number();
const orNull = z.number().nullable();

/** What held the current (or ended the charge), named once for phases, timeline, search and charts. */
export const chargeLimitName = z.enum([
  'stage-current',
  'precharge-current',
  'cell-rating',
  'zone-current',
  'zone-no-charge',
  'cell-voltage',
  'zone-voltage',
  'stack-voltage',
  'source-current',
  'source-power',
  'source-voltage',
  'cable-current',
  'converter-current',
  'regulator-current',
  'temperature',
  'rest',
]);
export type ChargeLimitName = z.infer<typeof chargeLimitName>;

export const chargeEndReason = z.enum([
  /** The current at the voltage limit fell to the end current. */
  'end-current',
  /**
   * No cell takes more than the end current any more, while the bypasses, one on at every cell, keep the charger's current
   * above it: it would flow through them for as long as it is let. Also where a stage's current is less than all of them take.
   */
  'bypass-exceeds-end-current',
  /** A cell passed the temperature at which charging ends. */
  'temperature',
  /** Outside the temperature window: do not charge. */
  'outside-temperature-window',
  'max-duration',
  /** The source cannot reach the voltage the stack needs. */
  'bus-voltage-too-low',
  /** The source cannot be set as low as the stack needs, or a step-up regulator has its input above its output. */
  'bus-voltage-too-high',
  /** Source, cable or converter carry less than the end current. */
  'supply-below-end-current',
  /** Charged to the voltage that a temperature zone allows, in surroundings that do not let the cell leave the zone: not full. */
  'zone-voltage-reached',
  /** The step size fell to its floor; the result up to there is given. */
  'solver-stalled',
]);

export const chargePhaseResult = z.object({
  kind: z.enum(['precharge', 'constant-current', 'constant-voltage', 'source-limited', 'paused', 'rest']),
  /** Index into the description's stages, null for other phases. */
  stage: orNull,
  /** Index of the cell held at its limit, null where none is. */
  limitingCell: orNull,
  converterMode: z.enum(['none', 'ratio', 'regulator']),
  startTimeS: number,
  endTimeS: number,
  startCurrentA: number,
  endCurrentA: number,
});

/** One stretch of the timeline of what bound the current. */
export const chargeLimitResult = z.object({
  limit: chargeLimitName,
  /** Cell the limit belongs to, null for a limit of the whole. */
  cell: orNull,
  /** Path of the converter whose limit it is, null for all others. */
  path: orNull.default(null),
  startTimeS: number,
  endTimeS: number,
});

/**
 * Where the power goes at one moment. `sourceW` is the sum of the others without `reversibleHeatW`; without a source it is
 * the output of the charger.
 */
const powerFlow = z.object({
  sourceW: number,
  cableLossW: number,
  converterLossW: number,
  /** In the resistance between charger and cells. */
  stackResistanceLossW: number,
  cellLossW: number,
  bypassLossW: number,
  storedW: number,
  /** Entropic heat of the cells, no electrical power. */
  reversibleHeatW: number,
});

/** A moment of the charge that a person reads off, with its power. */
export const chargeOperatingPoint = powerFlow.extend({
  moment: z.enum(['start', 'peak-power', 'voltage-limit', 'end']),
  timeS: number,
  stackCurrentA: number,
  stackVoltageV: number,
  converterMode: z.enum(['none', 'ratio', 'regulator']),
  /** At the source; null without one. */
  busVoltageV: orNull,
  /** What the source is set to: its next step upwards. */
  busSetVoltageV: orNull,
  busCurrentA: orNull,
  /** Output current of each path of the fixed ratio; null where it is not at work. */
  pathCurrentsA: z.array(number).nullable(),
  /** Power into the cells' terminals (with what their bypasses take) over power out of the source. */
  deliveredEfficiency: orNull,
  /** Stored power over power out of the source. */
  efficiency: orNull,
});

export type ChargeOperatingPoint = z.infer<typeof chargeOperatingPoint>;

export const chargeCellResult = z.object({
  name: z.string(),
  startSoc: number,
  endSoc: number,
  endVoltageV: number,
  peakVoltageV: number,
  peakVoltageTimeS: number,
  endTemperatureC: number,
  peakTemperatureC: number,
  /** How far the peak voltage is above the datasheet's limit, 0 where it is not. */
  overvoltageV: number,
  /** Seconds above the datasheet's limit. */
  overvoltageDurationS: number,
  /** Charge the bypass took past the cell. */
  bypassChargeAh: number,
  /** `temperature-outside-table`, `soc-outside-table`: parameters were held at the table's edge. */
  extrapolated: z.array(z.enum(['temperature-outside-table', 'soc-outside-table'])),
});

export const chargeEnergy = z.object({
  /** Out of the source, or out of the charger where no source is described. */
  fromSourceWh: number,
  /** Into the terminals of the cells. */
  intoStackWh: number,
  /** ∫ OCV dq of all cells. */
  storedWh: number,
  cableLossWh: number,
  converterLossWh: number,
  /** In the resistance between charger and cells. */
  stackResistanceLossWh: number.default(0),
  /** Overpotential × current, all cells. */
  cellLossWh: number,
  bypassLossWh: number,
  /** Reversible (entropic) heat, all cells; negative cools. Not part of the electrical balance. */
  reversibleHeatWh: number,
  /** stored / from source. */
  efficiency: orNull,
  /** (from source − all the others) / from source. */
  balanceErrorRelative: orNull,
  /** (heat − heat kept in the cells − heat given off) / heat. */
  thermalBalanceErrorRelative: orNull,
});

function seriesOf<S extends Record<string, z.ZodNumber>>(flow: z.ZodObject<S>) {
  const columns = Object.keys(flow.shape).map((name) => [name, z.array(number)]);
  return Object.fromEntries(columns) as { [K in keyof S]: z.ZodArray<z.ZodNumber> };
}

/** Columns of equal length, one row per `seriesStepS` and one at the end. */
export const chargeSeries = z.object({
  timeS: z.array(number),
  currentA: z.array(number),
  stackVoltageV: z.array(number),
  /** Bus values at the source; null without a source. */
  busVoltageV: z.array(number).nullable(),
  busCurrentA: z.array(number).nullable(),
  /** What the source is set to: its next step upwards. */
  busSetVoltageV: z.array(number).nullable().default(null),
  /** Power flow row by row; absent in results of earlier versions. */
  power: z.object(seriesOf(powerFlow)).optional(),
  cells: z.array(
    z.object({
      voltageV: z.array(number),
      currentA: z.array(number),
      soc: z.array(number),
      temperatureC: z.array(number),
    }),
  ),
});

/** The part of a result that every simulated charge has. */
export const simulatedCharge = z.object({
  phases: z.array(chargePhaseResult),
  /** Time at which the last cell reached the SOC, by SOC ("0.5", "0.8", "1", …); null where it never did. */
  timesS: z.record(z.string(), orNull),
  /** Why a time is null, by the same keys. */
  timesMissing: z.record(z.string(), z.enum(['not-reached', 'already-above-at-start'])),
  endTimeS: number,
  endReason: chargeEndReason,
  cells: z.array(chargeCellResult),
  /** Largest minus smallest end SOC. */
  endSocSpread: number,
  energy: chargeEnergy,
  limits: z.array(chargeLimitResult),
  /** In the order of time; none where the charge never began. */
  operatingPoints: z.array(chargeOperatingPoint).default([]),
  series: chargeSeries.nullable(),
  /** Steps of the solver, and the bound kept on the local error of each cell voltage in one step. */
  solver: z.object({ steps: number, rejected: number, toleranceV: number, toleranceK: number }),
});
export type SimulatedChargeResult = z.infer<typeof simulatedCharge>;

export const ratePoint = z.object({
  rateC: number,
  currentA: number,
  targetTimeS: orNull,
  endTimeS: number,
  peakTemperatureC: number,
  lossWh: number,
  /** SOC of the limiting cell when the voltage limit was first met, null where it was not. */
  socAtVoltageLimit: orNull,
  /** From the life law of the description; null without one, and outside the rates it holds for. */
  lifeCycles: orNull,
  feasible: z.boolean(),
  /** The limit broken, null where feasible. */
  broken: z
    .enum(['temperature', 'soc-at-voltage-limit', 'cell-voltage', 'zone-no-charge', 'source'])
    .nullable(),
});

export const rateSearchResult = z.object({
  /** Null where the answer is "do not charge". */
  rateC: orNull,
  currentA: orNull,
  /** Limit that a higher rate would break. */
  binding: z.enum([
    'datasheet-rating',
    'asked-maximum',
    'temperature',
    'soc-at-voltage-limit',
    'zone-current',
    'source',
    'none-feasible',
    'outside-temperature-window',
  ]),
  reason: z
    .enum(['below-minimum-temperature', 'above-maximum-temperature', 'limits-broken-at-lowest-rate'])
    .nullable(),
  best: ratePoint.nullable(),
  tradeOff: z.array(ratePoint),
  simulations: number,
});

export const stagedProfileResult = z.object({
  stages: z.array(z.object({ rateC: number, currentA: number, untilSoc: number.nullable() })),
  targetTimeS: orNull,
  peakTemperatureC: orNull,
  singleRateC: orNull,
  singleRateTargetTimeS: orNull,
  /** True where stages were no better and the best single rate is proposed. */
  sameAsSingleRate: z.boolean(),
  simulations: number,
  reason: z.enum(['outside-temperature-window', 'limits-broken-at-lowest-rate']).nullable(),
});

const interval = z.object({
  mean: number,
  standardDeviation: number,
  low: number,
  median: number,
  high: number,
});
export const monteCarloResult = z.object({
  draws: number,
  /** Draws refused because a parameter left its range, counted and not replaced. */
  refused: number,
  seed: number,
  level: number,
  endTimeS: interval,
  targetTimesS: z.record(z.string(), interval.nullable()),
  peakTemperatureC: interval,
  worstCellVoltageV: interval,
  endSocSpread: interval,
});

/** Why a table of rates has none at a temperature. The first three mean: do not charge. */
export const rateTableReason = z.enum([
  'below-minimum-temperature',
  'above-maximum-temperature',
  'limits-broken-at-lowest-rate',
  /** The parameters were measured at warmer temperatures only, or at one that is not known. */
  'not-measured-in-the-cold',
]);

/** One cell of the table of recommended rates. A null rate says why. */
export const rateTableEntry = z.object({
  temperatureC: number,
  resistanceGrowth: number,
  rateC: orNull,
  binding: rateSearchResult.shape.binding,
  /** Outside the temperatures at which the parameters were measured. */
  extrapolated: z.boolean(),
  reason: rateTableReason.nullable().default(null),
});
export type RateTableEntryResult = z.infer<typeof rateTableEntry>;

/** Cautions as codes; words are given where people read them. */
export const chargeCaution = z.enum([
  ...generalCautions,
  'stack-only-overcharges',
  'parameters-extrapolated',
  'default-limits-not-datasheet',
  'do-not-charge',
  'lithium-plating-not-modelled',
]);
export type ChargeCaution = z.infer<typeof chargeCaution>;

/** What `gemel charge FILE --json` prints and a stored study keeps. */
export const chargeStudyResult = simulatedCharge.extend({
  schemaVersion: z.literal(1),
  algorithm: z.string(),
  name: z.string().nullable(),
  stackOnly: simulatedCharge.nullable(),
  rateSearch: rateSearchResult.nullable(),
  stagedProfile: stagedProfileResult.nullable(),
  monteCarlo: monteCarloResult.nullable(),
  rateTable: z
    .object({
      /** The second where the limits of a cell are general defaults of its chemistry, not read from its datasheet. */
      basis: z.enum(['computed-from-fitted-parameters', 'default-from-common-practice']),
      entries: z.array(rateTableEntry),
    })
    .nullable(),
  cautions: z.array(chargeCaution),
  /** What limits the worth of this result: notes on the parameters first, then what the computation found. */
  warnings: z.array(chargeNote).default([]),
  /** What was asked, a heading and a sentence each: cells, charge, limits, source, cable, converter. */
  asked: z.array(z.object({ about: z.string(), text: z.string() })).default([]),
});
export type ChargeStudyResult = z.infer<typeof chargeStudyResult>;
