import {
  ANDERSON_DARLING_CRITICAL_05,
  andersonDarling,
  capability,
  grubbsTest,
  histogram,
  madScale,
  mean,
  median,
  normalPlot,
  standardDeviation,
} from '../../../fitting/statistics/index.ts';
import { inOrderOf } from '../../assess/lots/inOrder.ts';
import type { LotValue, Specification } from '../../assess/lots/lotValue.ts';
import { outliersOf, typicalUncertainty } from '../../assess/lots/outliersOf.ts';
import { type ToleranceQuestion, toleranceOf, USUAL_TOLERANCE } from '../../assess/lots/toleranceOf.ts';
import { unlikeCurrents } from '../../assess/lots/unlikeCurrents.ts';
import type { Context } from '../../context.ts';
import type { CellType } from '../../contract/cellTypes.ts';
import type { ColumnStatistics, LotStatistics } from '../../contract/lots.ts';
import { notFound } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { atOneMoment } from '../../store/atOneMoment.ts';
import { listSerials } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import type { ColumnKey } from '../../store/columnKey.ts';
import { findLotHead } from '../../store/lots.ts';
import { columnValues } from '../../store/measurements.ts';
import { listRepeatedReadings } from '../../store/repeatedReadings.ts';
import { readColumnKeys } from './readLotCells.ts';
import { readLotColumns } from './readLotColumns.ts';

/** Version of the lot judgement: a change of any number it gives is a new version. */
const VERSION = '1.4.0';

/** Spread, outliers, normality, capability and resolution of the asked columns of a lot, else of the usual ones. */
export async function judgeLot(
  context: Context,
  lotId: number,
  columns?: string,
  tolerance: Partial<ToleranceQuestion> = {},
): Promise<LotStatistics> {
  return atOneMoment(context.store, (store) => judgeLotNow({ ...context, store }, lotId, columns, tolerance));
}

async function judgeLotNow(
  context: Context,
  lotId: number,
  columns: string | undefined,
  tolerance: Partial<ToleranceQuestion>,
): Promise<LotStatistics> {
  const question = {
    coverage: tolerance.coverage ?? USUAL_TOLERANCE.coverage,
    confidence: tolerance.confidence ?? USUAL_TOLERANCE.confidence,
  };
  const lot = await findLotHead(context.store, lotId);
  if (!lot) throw notFound('lot', lotId);
  const cellType = await findCellType(context.store, lot.cellTypeId);
  if (!cellType) throw notFound('cell type', lot.cellTypeId);
  const text = columns ?? (await readLotColumns(context, lotId)).suggested.join(',');
  const cells = await listSerials(context.store, lotId);
  return {
    lotId,
    algorithm: { name: 'lot-judgement', version: VERSION },
    columns: await inOrder(readColumnKeys('columns', text), async (column) => {
      const present = await columnValues(context.store, lotId, column.key);
      const values: LotValue[] = [];
      let unit = '';
      for (const cell of cells) {
        const found = present.get(cell.id);
        if (!found || found.value === null) continue;
        unit = found.unit;
        values.push({
          cellId: cell.id,
          serial: cell.serial,
          value: found.value,
          uncertainty: found.standardUncertainty,
          measuredAt: found.measuredAt,
          currentA: found.currentA,
        });
      }
      const repeated = repeatedOf(await listRepeatedReadings(context.store, lotId, column.key));
      return {
        ...judgeColumn(column.text, unit, values, limitsOf(column.key, cellType), question),
        repeated,
      };
    }),
  };
}

/** The specification that a column is held against. */
function limitsOf(key: ColumnKey, cellType: CellType): Specification {
  if (key.quantity === 'capacity') return { lower: cellType.capacityMinAh, upper: null };
  const specified =
    (key.quantity === 'resistance' && key.durationS === cellType.resistanceDurationS) ||
    (key.quantity === 'impedance-1khz' && cellType.resistanceDurationS === null);
  return { lower: null, upper: specified ? cellType.resistanceMaxOhm : null };
}

function judgeColumn(
  key: string,
  unit: string,
  rows: readonly LotValue[],
  limits: Specification,
  question: ToleranceQuestion,
): Omit<ColumnStatistics, 'repeated'> {
  const values = rows.map((row) => row.value);
  const n = values.length;
  const centre = n > 0 ? mean(values) : null;
  const deviation = n > 1 ? standardDeviation(values) : null;
  const plot = n > 0 ? normalPlot(values) : [];
  const outliers = outliersOf(rows);
  const far = new Set(outliers.map(({ row }) => row));
  const kept = rows.filter((row) => !far.has(row));
  return {
    key,
    unit,
    n,
    mean: centre,
    standardDeviation: deviation,
    relativeSpread: deviation === null || !centre ? null : deviation / Math.abs(centre),
    median: n > 0 ? median(values) : null,
    robustSpread: n > 1 ? madScale(values) : null,
    minimum: n > 0 ? Math.min(...values) : null,
    maximum: n > 0 ? Math.max(...values) : null,
    histogram: n > 1 ? histogram(values) : null,
    normalPlot: plot.map((point) => ({
      cellId: rows[point.index].cellId,
      serial: rows[point.index].serial,
      expected: point.expected,
      value: point.value,
    })),
    normality: normalityOf(values),
    capability: capabilityOfRows(rows, limits),
    tolerance: toleranceOf(
      kept.map(({ value }) => value),
      limits,
      outliers.length,
      question,
    ),
    inOrder: inOrderOf(rows),
    mixedCurrents: unlikeCurrents(rows).length === 0 ? null : currentsOf(rows),
    currents: currentsOf(rows),
    outliers: outliers.map(({ row: { cellId, serial, value }, score }) => ({
      cellId,
      serial,
      value,
      score,
      method: 'median and absolute deviation',
    })),
    grubbs: grubbsOf(rows),
    resolution: resolutionOf(kept),
  };
}

/** Significance level of Grubbs' test. */
const GRUBBS_ALPHA = 0.05;

function grubbsOf(rows: readonly LotValue[]): ColumnStatistics['grubbs'] {
  if (rows.length < 3) return { alpha: GRUBBS_ALPHA, outliers: [], reason: 'too-few-values' };
  const steps = grubbsTest(
    rows.map(({ value }) => value),
    { alpha: GRUBBS_ALPHA },
  );
  const outliers = steps
    .filter(({ isOutlier }) => isOutlier)
    .map(({ index, value, statistic, critical }) => ({
      cellId: rows[index].cellId,
      serial: rows[index].serial,
      value,
      statistic,
      critical,
    }));
  return { alpha: GRUBBS_ALPHA, outliers, reason: null };
}

function currentsOf(rows: readonly LotValue[]): ColumnStatistics['currents'] {
  const amounts = rows.flatMap(({ currentA }) => (currentA === null ? [] : [Math.abs(currentA)]));
  return amounts.length === 0 ? null : { leastA: Math.min(...amounts), greatestA: Math.max(...amounts) };
}

/** How many cells have several readings, and how many those are; null where no cell has. */
function repeatedOf(readings: readonly { cellId: number }[]): ColumnStatistics['repeated'] {
  const counts = new Map<number, number>();
  for (const { cellId } of readings) counts.set(cellId, (counts.get(cellId) ?? 0) + 1);
  const several = [...counts.values()].filter((count) => count > 1);
  return several.length === 0
    ? null
    : { cells: several.length, readings: several.reduce((sum, count) => sum + count, 0) };
}

function normalityOf(values: readonly number[]): ColumnStatistics['normality'] {
  if (values.length < 8) return { statistic: null, critical: null, normal: null, reason: 'too-few-values' };
  const test = andersonDarling(values);
  if (test.adjusted === null) return { statistic: null, critical: null, normal: null, reason: test.reason };
  return {
    statistic: test.adjusted,
    critical: ANDERSON_DARLING_CRITICAL_05,
    normal: test.adjusted <= ANDERSON_DARLING_CRITICAL_05,
    reason: null,
  };
}

function capabilityOfRows(rows: readonly LotValue[], limits: Specification): ColumnStatistics['capability'] {
  const { lower, upper } = limits;
  const base = { lowerLimit: lower, upperLimit: upper, cp: null, cpk: null, cpkInterval: null, outside: [] };
  if (lower === null && upper === null) return { ...base, reason: 'no-specification' };
  const outside = rows
    .filter((row) => (lower !== null && row.value < lower) || (upper !== null && row.value > upper))
    .map(({ cellId, serial, value }) => ({ cellId, serial, value }));
  if (rows.length < 2) return { ...base, outside, reason: 'too-few-values' };
  const found = capability(
    rows.map((row) => row.value),
    { lower, upper },
  );
  const { cp, cpk, reason } = found;
  const cpkInterval: [number, number] | null = found.cpkInterval && [...found.cpkInterval];
  return { ...base, cp, cpk, cpkInterval, outside, reason: cpk === null ? reason : null };
}

/**
 * Whether measuring can tell the cells apart: spread between the cells over the uncertainty of one value. At least 3
 * is taken as good and at least 1 as limited, as is usual for the signal-to-noise ratio of a gauge; common practice.
 *
 * @param rows without outliers, of which one would widen the spread so far that any measurement looked good
 */
function resolutionOf(rows: readonly LotValue[]): ColumnStatistics['resolution'] {
  const uncertainty = typicalUncertainty(rows);
  if (uncertainty === null || uncertainty === 0 || rows.length < 2) {
    return { typicalUncertainty: uncertainty, ratio: null, verdict: 'unknown' };
  }
  const deviation = standardDeviation(rows.map(({ value }) => value));
  const ratio = Math.sqrt(Math.max(0, deviation ** 2 - uncertainty ** 2)) / uncertainty;
  return {
    typicalUncertainty: uncertainty,
    ratio,
    verdict: ratio >= 3 ? 'good' : ratio >= 1 ? 'limited' : 'not-enough',
  };
}
