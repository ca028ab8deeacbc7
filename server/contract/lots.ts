import { z } from 'zod';
import { changeOf, givenName, id, instant, pageOf, pageQuery, remark, version } from './common.ts';
import { measurementColumn, quantityName } from './measurements.ts';
import { featureQuantity, pairingPurpose, warningSignCode } from './pairingCriteria.ts';

const lotFields = z.object({
  name: givenName,
  cellTypeId: id,
  receivedOn: z.iso.date().nullable().default(null),
  note: remark.default(''),
});

export const lot = lotFields.extend({
  id,
  version,
  createdAt: instant,
  cellTypeName: z.string(),
  ratedCapacityAh: z.number(),
  counts: z.object({
    cells: z.int(),
    availableCells: z.int(),
    tests: z.int(),
    testsNotEvaluated: z.int(),
    pairings: z.int(),
    stacks: z.int(),
  }),
});

export const createLot = lotFields;
export const changeLot = changeOf(lotFields);
export const lotQuery = pageQuery.extend({
  search: z.string().max(120).optional(),
  cellTypeId: z.coerce.number().int().optional(),
});
export const lotPage = pageOf(lot);

/** Which columns of a lot can be compared, with the ones to show first. */
/** What a purpose of pairing starts from with the columns of a lot, and what it asks for that nobody measured. */
export const purposeFeatures = z.object({
  purpose: pairingPurpose,
  features: z.array(
    z.object({
      key: z.string(),
      quantity: featureQuantity,
      importance: z.number(),
      tolerancePercent: z.number(),
    }),
  ),
  missing: z.array(featureQuantity),
});
export const lotColumns = z.object({
  columns: z.array(measurementColumn),
  suggested: z.array(z.string()),
  purposes: z.array(purposeFeatures),
  /**
   * Quantities of which cells have values that hold only under something their records cannot tell (`edge-moment`,
   * `earlier-current`, `ocv-slope`, `sampling`): they are kept with their cell and stand in no column.
   */
  notCompared: z.array(
    z.object({
      quantity: quantityName,
      durationS: z.number().nullable(),
      reason: z.string(),
      cellCount: z.int(),
    }),
  ),
});

export const histogram = z.object({
  /** Edges of the bins; one more than counts. */
  edges: z.array(z.number()),
  counts: z.array(z.int()),
});

/** Spread, outliers, normality and capability of one column of a lot. */
export const columnStatistics = z.object({
  key: z.string(),
  unit: z.string(),
  n: z.int(),
  mean: z.number().nullable(),
  standardDeviation: z.number().nullable(),
  relativeSpread: z.number().nullable(),
  median: z.number().nullable(),
  /** Median absolute deviation, scaled to a standard deviation of normal data. */
  robustSpread: z.number().nullable(),
  minimum: z.number().nullable(),
  maximum: z.number().nullable(),
  histogram: histogram.nullable(),
  /** Points of the normal-probability plot. */
  normalPlot: z.array(z.object({ cellId: id, serial: z.string(), expected: z.number(), value: z.number() })),
  /** Anderson–Darling test of normality. */
  normality: z.object({
    statistic: z.number().nullable(),
    critical: z.number().nullable(),
    normal: z.boolean().nullable(),
    reason: z.string().nullable(),
  }),
  /** Against the specification of the cell type. */
  capability: z.object({
    lowerLimit: z.number().nullable(),
    upperLimit: z.number().nullable(),
    cp: z.number().nullable(),
    cpk: z.number().nullable(),
    /** 95 % interval of Cpk (Bissell, Applied Statistics 39 (1990) 331), wider where the values are skewed or have long tails. */
    cpkInterval: z.tuple([z.number(), z.number()]).nullable(),
    outside: z.array(z.object({ cellId: id, serial: z.string(), value: z.number() })),
    reason: z.string().nullable(),
  }),
  /** Statistical tolerance limits: within them lies at least `coverage` of all such cells, with `confidence`. */
  tolerance: z.object({
    coverage: z.number(),
    confidence: z.number(),
    lower: z.number().nullable(),
    upper: z.number().nullable(),
    /** From mean and standard deviation, or from the ordered values alone where the lot is not normal. */
    method: z.enum(['normal', 'ordered-values']),
    /** Outliers left out of the limits. */
    leftOut: z.int(),
    reason: z.string().nullable(),
  }),
  /** Individuals chart: the values in the order of measuring, so that a drift of the set-up shows. */
  inOrder: z.object({
    points: z.array(z.object({ cellId: id, serial: z.string(), measuredAt: z.string(), value: z.number() })),
    centre: z.number().nullable(),
    lower: z.number().nullable(),
    upper: z.number().nullable(),
    /** Cells whose value lies outside the limits. */
    outside: z.array(id),
    reason: z.enum(['too-few-values', 'no-times', 'one-time']).nullable(),
  }),
  /** Least and greatest current (without sign) behind the values, where one is over a fifth from the usual; else null. */
  mixedCurrents: z.object({ leastA: z.number(), greatestA: z.number() }).nullable(),
  /** Least and greatest current (without sign) behind the values; null where none is stated. */
  currents: z.object({ leastA: z.number(), greatestA: z.number() }).nullable(),
  /** Cells that have several readings at this condition and age, of which the newest counts; null where none has. */
  repeated: z.object({ cells: z.int(), readings: z.int() }).nullable(),
  outliers: z.array(
    z.object({
      cellId: id,
      serial: z.string(),
      value: z.number(),
      /** Distance from the median in robust standard deviations. */
      score: z.number(),
      method: z.string(),
    }),
  ),
  /**
   * Outliers by Grubbs' test, repeated at 5 % on the values that are left: a second answer beside the robust rule, which
   * several neighbouring outliers do not mask. It assumes that the rest is normal.
   */
  grubbs: z.object({
    alpha: z.number(),
    outliers: z.array(
      z.object({
        cellId: id,
        serial: z.string(),
        value: z.number(),
        statistic: z.number(),
        critical: z.number(),
      }),
    ),
    reason: z.enum(['too-few-values']).nullable(),
  }),
  /** Whether measuring can tell the cells apart: spread between cells against the uncertainty of one value. */
  resolution: z.object({
    typicalUncertainty: z.number().nullable(),
    ratio: z.number().nullable(),
    verdict: z.enum(['good', 'limited', 'not-enough', 'unknown']),
  }),
});

export const lotStatisticsQuery = z.object({
  /** Keys of columns, comma-separated; the suggested ones where left out. */
  columns: z.string().max(2000).optional(),
  /** Share of the cells that the tolerance limits hold; 0.99 where left out. */
  coverage: z.coerce.number().gt(0).lt(1).optional(),
  /** Confidence of the tolerance limits; 0.95 where left out. */
  confidence: z.coerce.number().gt(0).lt(1).optional(),
});
export type LotStatisticsQuery = z.infer<typeof lotStatisticsQuery>;
export const lotStatistics = z.object({
  lotId: id,
  algorithm: z.object({ name: z.string(), version: z.string() }),
  columns: z.array(columnStatistics),
});

/** A reason why a cell must not be offered for pairing, with the value and the limit it broke. */
export const warningSign = z.object({
  cellId: id,
  serial: z.string(),
  code: warningSignCode,
  value: z.number().nullable(),
  limit: z.number().nullable(),
  unit: z.string(),
});
export const warningSignList = z.object({ items: z.array(warningSign) });

export type WarningSign = z.infer<typeof warningSign>;
export type Lot = z.infer<typeof lot>;
export type CreateLot = z.infer<typeof createLot>;
export type ChangeLot = z.infer<typeof changeLot>;
export type LotColumns = z.infer<typeof lotColumns>;
export type ColumnStatistics = z.infer<typeof columnStatistics>;
export type LotStatistics = z.infer<typeof lotStatistics>;
