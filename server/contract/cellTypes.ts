import { z } from 'zod';
import { changeOf, givenName, id, instant, pageOf, remark, version } from './common.ts';

const positive = z.number().positive();

/**
 * Charge limits of the datasheet for a range of temperature; null: no other than the general one. Outside all zones of a
 * cell type that has any, the datasheet allows no charging.
 */
export const chargeZone = z
  .strictObject({
    fromC: z.number().min(-60).max(150),
    toC: z.number().min(-60).max(150),
    maxChargeCurrentA: z.number().min(0).max(100_000).nullable().default(null),
    maxVoltageV: positive.max(10).nullable().default(null),
  })
  .refine((zone) => zone.toC > zone.fromC, { path: ['toC'], message: 'is not above fromC' });
export type ChargeZone = z.infer<typeof chargeZone>;

/** Zones without overlap, in any order. */
export const chargeZones = z
  .array(chargeZone)
  .max(12)
  .superRefine((zones, check) => {
    const order = [...zones.keys()].sort((a, b) => zones[a].fromC - zones[b].fromC);
    order.forEach((zone, i) => {
      const before = order[i - 1];
      if (before !== undefined && zones[zone].fromC < zones[before].toC)
        check.addIssue({
          code: 'custom',
          path: [zone, 'fromC'],
          message: `overlaps the zone up to ${zones[before].toC} °C`,
        });
    });
  });

/** A maker's cell type with its datasheet limits; a null limit falls back to the chemistry's default. */
const cellTypeFields = z.object({
  name: givenName,
  maker: z.string().max(120).default(''),
  chemistryId: id,
  ratedCapacityAh: positive.max(1000, 'is above 1,000 Ah; the unit is Ah: 2,200 mAh are 2.2'),
  chargeVoltageLimitV: positive.max(10).nullable().default(null),
  dischargeCutoffV: z.number().min(0).max(10).nullable().default(null),
  maxChargeCurrentA: positive.max(100_000).nullable().default(null),
  maxDischargeCurrentA: positive.max(100_000).nullable().default(null),
  taperCurrentA: positive.max(10_000).nullable().default(null),
  chargeTemperatureMinC: z.number().min(-60).max(100).nullable().default(null),
  chargeTemperatureMaxC: z.number().min(-60).max(150).nullable().default(null),
  /** The datasheet's table of charge current and voltage by temperature; empty where it has none. */
  chargeZones: chargeZones.default([]),
  massG: positive.max(1_000_000).nullable().default(null),
  heatCapacityJPerK: positive.nullable().default(null),
  heatTransferWPerK: positive.nullable().default(null),
  /** Specification of delivered cells. */
  capacityMinAh: positive.nullable().default(null),
  resistanceMaxOhm: positive.nullable().default(null),
  /** The duration the specified resistance belongs to. */
  resistanceDurationS: positive.nullable().default(null),
  /** The condition at which cells of this type are compared. */
  referenceTemperatureC: z.number().min(-60).max(100).default(25),
  referenceSoc: z.number().min(0).max(1).default(0.5),
  datasheet: remark.default(''),
});

export const cellType = cellTypeFields.extend({
  id,
  version,
  createdAt: instant,
  chemistryName: z.string(),
  /** The limits that hold: the datasheet's, or else the chemistry's. */
  limits: z.object({
    chargeVoltageLimitV: z.number(),
    dischargeCutoffV: z.number(),
    chargeTemperatureMinC: z.number(),
    chargeTemperatureMaxC: z.number(),
    /** The datasheet's rating, or the chemistry's usual rate times the rated capacity. */
    maxChargeCurrentA: z.number(),
    maxChargeCurrentBasis: z.enum(['datasheet', 'common-practice']),
  }),
  lotCount: z.int(),
});

export const createCellType = cellTypeFields;
export const changeCellType = changeOf(cellTypeFields);
export const cellTypePage = pageOf(cellType);

export type CellType = z.infer<typeof cellType>;
export type CreateCellType = z.infer<typeof createCellType>;
export type ChangeCellType = z.infer<typeof changeCellType>;
