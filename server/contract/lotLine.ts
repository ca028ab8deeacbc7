import { z } from 'zod';
import { id } from './common.ts';
import { residualChecks } from './residualChecks.ts';

const given = z.coerce.number().positive().optional();

export const lotLineQuery = z.object({
  /** Keys of two columns, e.g. `capacity` and `resistance/10s/discharge/soc50/25C`. */
  x: z.string().min(1).max(200),
  y: z.string().min(1).max(200),
  /** A value of y, in its unit, whose x on the line is wanted. */
  at: z.coerce.number().optional(),
  /** Standard uncertainty of one value, in the column's unit, where the values carry none. */
  xUncertainty: given,
  yUncertainty: given,
});

const estimate = z.object({
  value: z.number(),
  standardError: z.number().nullable(),
  /** 95 % interval; null where there are too few cells for one. */
  low: z.number().nullable(),
  high: z.number().nullable(),
});

/**
 * Straight line between two quantities of a lot, y = intercept + slope · x, with errors in both (York et al., Am. J. Phys. 72
 * (2004) 367). Outliers of either column are left out.
 */
export const lotLine = z.object({
  lotId: id,
  algorithm: z.object({ name: z.literal('lot-line'), version: z.string() }),
  x: z.object({ column: z.string(), unit: z.string().nullable() }),
  y: z.object({ column: z.string(), unit: z.string().nullable() }),
  /** Cells that the line goes through. */
  n: z.int(),
  leftOut: z.array(
    z.object({ cellId: id, serial: z.string(), reason: z.enum(['outlier', 'uncertainty-not-stated']) }),
  ),
  intercept: estimate.nullable(),
  slope: estimate.nullable(),
  /**
   * Scatter about the line in multiples of the uncertainties, √(S/(n − 2)). Above 1 the cells differ by more than their
   * uncertainties say: the line is that with the rest of the scatter in y, and the intervals reach to that with it in x, because the
   * values do not tell which quantity it belongs to; their ends are null where that one may have any slope.
   */
  scatter: z.number().nullable(),
  /** The line with the 95 % interval of its y, over the cells, and that of the reading of one further cell. */
  band: z.array(
    z.object({
      x: z.number(),
      y: z.number(),
      low: z.number(),
      high: z.number(),
      cellLow: z.number(),
      cellHigh: z.number(),
    }),
  ),
  /** Of the distances from the line, each over its uncertainty, in order of x; null without a line. */
  residualChecks: residualChecks.nullable(),
  /** Where the line meets the asked y, with Fieller's 95 % interval; its ends are null where the interval is open. */
  inverse: z
    .object({
      at: z.number(),
      x: z.number().nullable(),
      low: z.number().nullable(),
      high: z.number().nullable(),
      reason: z.enum(['interval-open', 'outside-cells']).nullable(),
    })
    .nullable(),
  /** Why there is no line. */
  reason: z.enum(['too-few-cells', 'uncertainty-not-stated', 'no-spread']).nullable(),
});

export type LotLineQuery = z.infer<typeof lotLineQuery>;
export type LotLine = z.infer<typeof lotLine>;
