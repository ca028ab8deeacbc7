import { z } from 'zod';
import { supplyEstimate } from './chargeLogResult.ts';
import { chargeCable, chargeConverter, chargeSource, meterErrors, operatingPoint } from './chargeSupply.ts';
import { givenName, id, instant, remark } from './common.ts';

export const supplyPartKind = z.enum(['converter', 'cable', 'source']);
export type SupplyPartKind = z.infer<typeof supplyPartKind>;

const measuredValue = z.object({ value: z.number(), low: z.number(), high: z.number() });

/** Parameters of a converter with 95 % intervals, from its operating points, and its efficiency over the output current. */
export const measuredConverter = z.object({
  outputResistanceOhm: measuredValue,
  fixedLossCurrentA: measuredValue,
  curve: z.array(z.object({ outputCurrentA: z.number(), lossW: measuredValue, efficiency: measuredValue })),
  /** What the intervals take for the meters' errors; `assumed` of it was not stated. Missing in parts kept before both were. */
  meters: meterErrors.required().optional(),
  assumed: z.array(meterErrors.keyof()).optional(),
});

/** What was measured of a part: from operating points, or from the log of a charge. */
export const partMeasured = z.strictObject({
  converter: measuredConverter.optional(),
  fromLog: z
    .object({ cableOhm: supplyEstimate, converterOhm: supplyEstimate, fixedLossA: supplyEstimate })
    .partial()
    .optional(),
});

const newPart = {
  name: givenName,
  note: remark.default(''),
};

/** A converter, a cable or a source with its limits and losses as a study takes them. */
export const createSupplyPart = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('converter'),
    ...newPart,
    /** Its own temperature must not go above; it is reported, the simulation has no temperature of the converter. */
    temperatureLimitC: z.number().min(-50).max(300).optional(),
    description: chargeConverter,
  }),
  z.strictObject({ kind: z.literal('cable'), ...newPart, description: chargeCable }),
  z.strictObject({ kind: z.literal('source'), ...newPart, description: chargeSource }),
]);
export type CreateSupplyPart = z.infer<typeof createSupplyPart>;

const stored = {
  id,
  name: z.string(),
  revision: z.int(),
  note: z.string(),
  measured: partMeasured,
  /** The evaluation of stack logs that a parameter was taken from. */
  fitId: id.nullable(),
  createdAt: instant,
  createdBy: z.string(),
  /** When a later revision took its place, or it was put away. */
  supersededAt: instant.nullable(),
};

export const supplyPart = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('converter'),
    ...stored,
    temperatureLimitC: z.number().nullable(),
    description: chargeConverter,
  }),
  z.object({ kind: z.literal('cable'), ...stored, description: chargeCable }),
  z.object({ kind: z.literal('source'), ...stored, description: chargeSource }),
]);
export type SupplyPart = z.infer<typeof supplyPart>;

export const supplyPartList = z.object({ items: z.array(supplyPart) });
export const supplyPartQuery = z.object({ kind: supplyPartKind.optional() });

/** Operating points of a converter as they were read from a table or a log. */
export const operatingPointList = z.object({
  points: z.array(operatingPoint),
  /** How the columns of a table were read; empty for a log. */
  columns: z.array(z.object({ role: z.string(), source: z.string(), unit: z.string() })),
  unused: z.array(z.string()),
  /** What is known of the constant errors of the channels that read the points; absent for a table. */
  meters: meterErrors.optional(),
});
export type OperatingPointList = z.infer<typeof operatingPointList>;

export const operatingPointQuery = z.object({
  /** Columns by role: stack-voltage=NAME,stack-current=NAME,bus-voltage=NAME,bus-current=NAME. */
  columns: z.string().max(2000).optional(),
});
