import { standardDeviation } from '../../../fitting/statistics/index.ts';
import { arrangeReadings, judgeGauge } from '../../assess/lots/judgeGauge.ts';
import { outliersOf } from '../../assess/lots/outliersOf.ts';
import type { Context } from '../../context.ts';
import type { GaugeStudy } from '../../contract/gauge.ts';
import { notFound } from '../../errors.ts';
import { findLotHead } from '../../store/lots.ts';
import { columnValues } from '../../store/measurements.ts';
import { listRepeatedReadings } from '../../store/repeatedReadings.ts';
import { readColumnKey } from './readLotCells.ts';

/** Version of the study: a change of any number it gives is a new version. */
const VERSION = '2.0.0';

/**
 * Studies whether fixture and instrument can tell the cells of a lot apart by one column: cells that were tested or
 * listed repeatedly, by analysis of variance (cells random, operators too where a table names several that each
 * measured every cell). An outlier of the lot (as its judgement has it) does not enter its spread, which it alone would
 * widen so far that any fixture looked good. The ratio of the gauge to total spread is good up to 10 % and limited up
 * to 30 % (AIAG, Measurement Systems Analysis, 4th ed.; the figures from memory); where the cells of the study may be
 * chance it is not enough.
 *
 * @throws Refusal `not-found`: no such lot; `invalid-request`: no such column
 */
export async function studyGauge(context: Context, lotId: number, column: string): Promise<GaugeStudy> {
  const { store } = context;
  if (!(await findLotHead(store, lotId))) throw notFound('lot', lotId);
  const key = readColumnKey('column', column);
  const readings = await listRepeatedReadings(store, lotId, key);
  const arranged = arrangeReadings(readings);
  const values = await columnValues(store, lotId, key);
  const all = [...values.values()].flatMap(({ value, standardUncertainty }) =>
    value === null ? [] : [{ value, uncertainty: standardUncertainty }],
  );
  const outliers = new Set(outliersOf(all).map(({ row }) => row));
  const present = all.filter((row) => !outliers.has(row)).map(({ value }) => value);
  return {
    lotId,
    column,
    unit: values.values().next().value?.unit ?? null,
    algorithm: { name: 'gauge-study', version: VERSION },
    cells: arranged.cells,
    operators: arranged.operators === null ? null : [...arranged.operators],
    operatorsReason: arranged.operatorsReason,
    trials: arranged.trials,
    readingsLeftOut: arranged.leftOut,
    lotDeviation: present.length > 1 ? standardDeviation(present) : null,
    lotCells: present.length,
    lotOutliers: outliers.size,
    ...judgeGauge(arranged, present),
  };
}
