import { z } from 'zod';
import { chargeCaution, rateSearchResult, rateTableReason } from './chargeStudyResult.ts';
import { id } from './common.ts';

const orNull = z.number().nullable();

/** The basis of a rate: the simulation of a fitted cell, or common practice for the chemistry, with no source claimed. */
export const chargeRateBasis = z.enum(['computed-from-fitted-parameters', 'common-practice']);

/** What a higher rate would break. `usual-rate`: the chemistry's, where the datasheet gives no rating. */
export const chargeRateBinding = z.enum([...rateSearchResult.shape.binding.options, 'usual-rate']);

export const chargeRateReason = z.enum([
  ...rateTableReason.options,
  /** Close to the lower end of the window cells plate lithium at their usual rate; only the datasheet says how much they take. */
  'cold-needs-datasheet',
  /** Nothing general can be said: it depends on the resistance that has grown. */
  'resistance-growth-needs-fitted-cell',
]);

/** One cell of the table. A rate of 0 means: do not charge. Null means: not known, and why. */
export const chargeRateEntry = z.object({
  temperatureC: z.number(),
  /** 0 is new (as fitted), 0.5 is +50 %. */
  resistanceGrowth: z.number(),
  rateC: orNull,
  /** Null where the rated capacity is not known. */
  currentA: orNull,
  doNotCharge: z.boolean(),
  basis: chargeRateBasis,
  binding: chargeRateBinding.nullable(),
  reason: chargeRateReason.nullable(),
  /** True where the parameters were not measured near this temperature. */
  extrapolated: z.boolean(),
});

/** The cell whose fitted parameters represent its type. */
export const representativeCell = z.object({
  cellId: id,
  serial: z.string(),
  lotId: id,
  lotName: z.string(),
  /** Of the fitted cells of the lot entered last: the one at the middle of their resistances (of two, the higher). */
  chosenBy: z.enum(['median-resistance', 'first-fitted']),
  resistanceOhm: orNull,
  /** Column of the resistances compared, as in the lot's table; null where none were measured. */
  resistanceColumn: z.string().nullable(),
  fittedCells: z.int(),
  fitIds: z.array(id),
  /** Temperatures at which its resistances were measured, null where not known. */
  measuredFromC: orNull,
  measuredToC: orNull,
  /** What is used where a cell has no heat balance: its temperature stays where it starts. */
  heatBalance: z.boolean(),
  notes: z.array(z.string()),
});

/** The cautions of a table of rates. */
export const chargeRateCaution = chargeCaution;

/** Recommended charge rates against temperature and resistance growth, of a cell type or of a chemistry in general. */
export const chargeRates = z.object({
  schemaVersion: z.literal(1),
  subject: z.object({
    kind: z.enum(['cell-type', 'chemistry']),
    id,
    name: z.string(),
    chemistry: z.string(),
  }),
  basis: chargeRateBasis,
  ratedCapacityAh: orNull,
  limits: z.object({
    maxRateC: z.number(),
    maxRateBasis: z.enum(['datasheet', 'common-practice']),
    chargeVoltageLimitV: z.number(),
    minTemperatureC: z.number(),
    maxTemperatureC: z.number(),
    /** The limits above that are the chemistry's and not read from a datasheet. */
    commonPractice: z.array(z.string()),
  }),
  /** Null for common practice, with the reason beside it. */
  representative: representativeCell.nullable(),
  representativeReason: z.enum(['no-fitted-cell', 'chemistry-in-general']).nullable(),
  temperaturesC: z.array(z.number()),
  resistanceGrowths: z.array(z.number()),
  entries: z.array(chargeRateEntry),
  cautions: z.array(chargeRateCaution),
});

export type ChargeRates = z.infer<typeof chargeRates>;
export type ChargeRateEntry = z.infer<typeof chargeRateEntry>;
export type RepresentativeCell = z.infer<typeof representativeCell>;
