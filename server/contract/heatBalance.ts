import { z } from 'zod';
import { id, instant, version } from './common.ts';

const orNull = z.number().nullable();

/** The fit's input; what is left out is taken from the test, or else from the record. */
export const fitHeatBalanceRequest = z.strictObject({
  /** SOC at the first row of the record. */
  startSoc: z.number().min(0).max(1).optional(),
  /** Temperature of the surroundings. */
  ambientTemperatureC: z.number().min(-60).max(150).optional(),
});

export const heatBalanceWarning = z.enum([
  /** The residuals count as independent; those of an integral are not. */
  'standard-errors-lower-bound',
  /** The cell has no entropic term: what it takes up and gives back is counted as loss. */
  'reversible-heat-left-out',
  /** The cooler end of the interval is taken as the temperature of the surroundings. */
  'ambient-assumed',
  /** The counted SOC leaves 0…1: start SOC or capacity do not fit the record. */
  'soc-outside-range',
  /** The voltage lies on the wrong side of the OCV for a noticeable part of the charge. */
  'voltage-against-ocv',
  /** The model leaves more than a twentieth of the temperature change unexplained: the values are rough, whatever their errors. */
  'poor-fit',
]);

/** Heat capacity and heat transfer of a cell from a charge with temperature; a stored fit of kind `heat-balance`. */
export const heatBalanceResult = z.object({
  schemaVersion: z.literal(1),
  algorithm: z.object({ name: z.literal('heat-balance'), version: z.string() }),
  testId: id,
  heatCapacityJPerK: orNull,
  heatCapacityStandardErrorJPerK: orNull,
  heatTransferWPerK: orNull,
  heatTransferStandardErrorWPerK: orNull,
  /** Standard deviation of measured against modelled temperature change. */
  residualSdK: orNull,
  /** Why there are no values. */
  reason: z.enum(['too-little-warming', 'not-separable', 'not-physical']).nullable(),
  /** Rows of the record that were used, `lastRow` included: the largest charge with the rests around it. */
  firstRow: z.int(),
  lastRow: z.int(),
  temperatureSpanK: z.number(),
  startSoc: z.number(),
  startSocBasis: z.enum(['asked', 'test', 'rest-voltage']),
  ambientTemperatureC: z.number(),
  ambientBasis: z.enum(['asked', 'test', 'cooler-end']),
  /** Fits whose OCV and capacity gave the heat. */
  parameterFitIds: z.array(id),
  warnings: z.array(heatBalanceWarning),
});

/** A fitted heat balance with what it takes to put it into the cell type. */
export const cellHeatBalance = z.object({
  fitId: id,
  createdAt: instant,
  createdBy: z.string(),
  cellId: id,
  serial: z.string(),
  result: heatBalanceResult,
  /** What the cell type says now; nothing is put there by a fit. */
  cellType: z.object({ id, version, heatCapacityJPerK: orNull, heatTransferWPerK: orNull }),
  /** Body of `PATCH /cell-types/{id}` that takes the values over; null where there are none to take. */
  takeOver: z
    .object({ heatCapacityJPerK: z.number().positive(), heatTransferWPerK: z.number().positive() })
    .nullable(),
});

export type FitHeatBalanceRequest = z.infer<typeof fitHeatBalanceRequest>;
export type HeatBalanceResult = z.infer<typeof heatBalanceResult>;
export type CellHeatBalance = z.infer<typeof cellHeatBalance>;
