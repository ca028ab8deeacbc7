import { z } from 'zod';
import { id } from './common.ts';
import { reasonSentences } from './reasons.ts';

const interval = z.object({ low: z.number(), high: z.number() });

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
  cells: z.array(
    z.object({
      cellId: id,
      serial: z.string(),
      readings: z.array(z.number()),
      /** Who took each reading, in a study with operators. */
      operators: z.array(z.string()).nullable(),
    }),
  ),
  /** Operators, or fixtures, of a crossed study: each measured every cell; null where the study has none. */
  operators: z.array(z.string()).nullable(),
  /** Why the study regards no operators. */
  operatorsReason: z.enum(['operators-not-stated', 'one-operator', 'not-crossed']).nullable(),
  /** Readings of each cell, by each operator, that enter; the newest where some have more. */
  trials: z.int(),
  /** Readings that were left out so that every cell has as many. */
  readingsLeftOut: z.int(),
  /** Scatter of readings of one cell, inserted again each time. */
  repeatability: z.number().nullable(),
  /** Its 95 % interval by χ². */
  repeatabilityInterval: interval.nullable(),
  /** Two single readings of one cell differ by less than this in 95 % of cases. */
  repeatabilityLimit: z.number().nullable(),
  /**
   * What the operators add, from the crossed analysis of variance with cells and operators random (AIAG, Measurement Systems
   * Analysis; ISO 22514-7 uses the same components). Null without operators.
   */
  crossed: z
    .object({
      /** Differences between operators, and of operators with single cells, 1 sd. */
      reproducibility: z.number(),
      /** Repeatability and reproducibility together. */
      gauge: z.number(),
      operatorF: z.number().nullable(),
      operatorPValue: z.number().nullable(),
      interactionF: z.number().nullable(),
      interactionPValue: z.number().nullable(),
      /** The interaction was not significant (p > 0.25) and counts as repeatability. */
      interactionPooled: z.boolean(),
      reproducibilityByRange: z.number(),
      gaugeByRange: z.number(),
    })
    .nullable(),
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
  /** Gauge over total spread, a fraction: the repeatability, with operators also their differences. */
  ratio: z.number().nullable(),
  /** Its 95 % interval; null with operators, whose few degrees of freedom give none that holds. */
  ratioInterval: interval.nullable(),
  /** Number of distinguishable groups of cells. */
  distinctCategories: z.int().nullable(),
  verdict: z.enum(['good', 'limited', 'not-enough', 'unknown']),
  /** Why there is no verdict. */
  reason: z.enum(['no-repeats', 'one-cell', 'no-spread']).nullable(),
});

export type GaugeStudy = z.infer<typeof gaugeStudy>;

/** What must be known beside the figures of a study, for page and terminal alike. */
export function gaugeSentences({ operatorsReason, crossed, ratioInterval, ratio }: GaugeStudy): string[] {
  const pooled =
    crossed === null
      ? ''
      : crossed.interactionPooled
        ? 'The operators differ alike on all cells; that interaction counts as repeatability (p above 0.25).'
        : 'The operators differ from one another by other amounts from cell to cell.';
  const wide =
    ratioInterval !== null &&
    ratio !== null &&
    ratioInterval.low <= 0.3 &&
    ratioInterval.high > 0.3 &&
    ratio <= 0.3
      ? 'So few readings do not exclude a gauge that is not enough: measure more cells or more often.'
      : '';
  return [operatorsReason === null ? '' : reasonSentences[operatorsReason], pooled, wide].filter(
    (sentence) => sentence !== '',
  );
}
