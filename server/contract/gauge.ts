import { z } from 'zod';
import { id } from './common.ts';

export const gaugeQuery = z.object({
  /** Key of a column, e.g. `resistance/10s/discharge/soc50/25C`. */
  column: z.string().min(1).max(200),
});

/**
 * Gauge study of one column of a lot: whether fixture and instrument can tell its cells apart. A repeat is another test of
 * the same cell at the same condition and age, for which the cell was inserted into the fixture again, or another row of a cell
 * table that lists the cell several times. Deviations are standard
 * deviations in the column's unit.
 */
export const gaugeStudy = z.object({
  lotId: id,
  column: z.string(),
  unit: z.string().nullable(),
  algorithm: z.object({ name: z.literal('gauge-study'), version: z.string() }),
  /** Cells that were tested repeatedly and enter the study. */
  cells: z.array(z.object({ cellId: id, serial: z.string(), readings: z.array(z.number()) })),
  /** Readings of each cell that enter; the newest where some cells have more. */
  trials: z.int(),
  /** Readings that were left out so that every cell has as many. */
  readingsLeftOut: z.int(),
  /** Scatter of readings of one cell, inserted again each time. */
  repeatability: z.number().nullable(),
  /** Two single readings of one cell differ by less than this in 95 % of cases. */
  repeatabilityLimit: z.number().nullable(),
  /** Spread between the cells of the study with the scatter taken out. */
  betweenCells: z.number().nullable(),
  /** Whether the cells of the study differ at all: F ratio and its p value. */
  f: z.number().nullable(),
  pValue: z.number().nullable(),
  /** The same by averages and ranges, as on the printed form; null without a study. */
  byRange: z
    .object({
      meanRange: z.number(),
      repeatability: z.number(),
      betweenCells: z.number(),
      distinctCategories: z.int().nullable(),
    })
    .nullable()
    .default(null),
  /** Spread of one reading of each cell of the whole lot without its outliers, and of how many cells it is. */
  lotDeviation: z.number().nullable(),
  lotCells: z.int(),
  /** Cells of the lot that were left out of its spread as outliers. */
  lotOutliers: z.int(),
  /** Which spread the ratio is taken of: of the lot where it has more cells than the study, else of the study. */
  basis: z.enum(['lot', 'study']).nullable(),
  /** Repeatability over total spread, a fraction. */
  ratio: z.number().nullable(),
  /** Number of distinguishable groups of cells. */
  distinctCategories: z.int().nullable(),
  verdict: z.enum(['good', 'limited', 'not-enough', 'unknown']),
  /** Why there is no verdict. */
  reason: z.enum(['no-repeats', 'one-cell', 'no-spread']).nullable(),
});

export type GaugeStudy = z.infer<typeof gaugeStudy>;
