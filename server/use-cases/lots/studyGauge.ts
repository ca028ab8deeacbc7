import { gaugeByRange, gaugeByVariance } from '../../../fitting/statistics/gaugeStudy.ts';
import { pooledRepeatability } from '../../../fitting/statistics/repeatability.ts';
import { standardDeviation } from '../../../fitting/statistics/sample.ts';
import { outliersOf } from '../../assess/lots/outliersOf.ts';
import type { Context } from '../../context.ts';
import type { GaugeStudy } from '../../contract/gauge.ts';
import { notFound } from '../../errors.ts';
import { findLotHead } from '../../store/lots.ts';
import { columnValues } from '../../store/measurements.ts';
import { listRepeatedReadings } from '../../store/repeatedReadings.ts';
import { readColumnKey } from './readLotCells.ts';

/** Version of the study: a change of any number it gives is a new version. */
const VERSION = '1.2.0';

/** Cells are taken as different where this much chance or less would make them look so. */
const SIGNIFICANT = 0.05;

/**
 * Studies whether fixture and instrument can tell the cells of a lot apart by one column: cells that were tested or
 * listed repeatedly, by analysis of variance (cells random, one fixture). An outlier of the lot (as its judgement has it) does not enter its spread,
 * which it alone would widen so far that any fixture looked good. The ratio of repeatability to total spread is good up to
 * 10 % and limited up to 30 % (AIAG, Measurement Systems Analysis, 4th ed.; the figures from memory); where the cells of
 * the study may be chance it is not enough.
 *
 * @throws Refusal `not-found`: no such lot; `invalid-request`: no such column
 */
export async function studyGauge(context: Context, lotId: number, column: string): Promise<GaugeStudy> {
  const { store } = context;
  if (!(await findLotHead(store, lotId))) throw notFound('lot', lotId);
  const key = readColumnKey('column', column);
  const readings = await listRepeatedReadings(store, lotId, key);
  const byCell = new Map<number, GaugeStudy['cells'][number]>();
  for (const { cellId, serial, value } of readings) {
    const cell = byCell.get(cellId) ?? { cellId, serial, readings: [] };
    cell.readings.push(value);
    byCell.set(cellId, cell);
  }
  const repeated = [...byCell.values()].filter((cell) => cell.readings.length > 1);
  const trials = repeated.length === 0 ? 0 : Math.min(...repeated.map((cell) => cell.readings.length));
  const cells = repeated.map((cell) => ({ ...cell, readings: cell.readings.slice(0, trials) }));
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
    cells,
    trials,
    readingsLeftOut: repeated.reduce((sum, cell) => sum + cell.readings.length - trials, 0),
    lotDeviation: present.length > 1 ? standardDeviation(present) : null,
    lotCells: present.length,
    lotOutliers: outliers.size,
    ...judge(
      cells.map((cell) => cell.readings),
      present,
    ),
  };
}

type Judgement = Pick<
  GaugeStudy,
  | 'repeatability'
  | 'repeatabilityLimit'
  | 'betweenCells'
  | 'f'
  | 'pValue'
  | 'byRange'
  | 'basis'
  | 'ratio'
  | 'distinctCategories'
  | 'verdict'
  | 'reason'
>;

/**
 * @param readings of each repeatedly tested cell, equally many
 * @param present one value of each cell of the lot
 */
function judge(readings: readonly (readonly number[])[], present: readonly number[]): Judgement {
  const pooled = readings.length === 0 ? null : pooledRepeatability(readings);
  const open: Judgement = {
    repeatability: pooled?.standardDeviation ?? null,
    repeatabilityLimit: pooled?.repeatabilityLimit ?? null,
    betweenCells: null,
    f: null,
    pValue: null,
    byRange: null,
    basis: null,
    ratio: null,
    distinctCategories: null,
    verdict: 'unknown',
    reason: null,
  };
  if (pooled === null) return { ...open, reason: 'no-repeats' };
  if (readings.length < 2) return { ...open, reason: 'one-cell' };
  const study = gaugeByVariance(readings.map((own) => [own]));
  const { f, pValue } = study.table[0];
  const {
    meanRange,
    repeatability: rangeRepeatability,
    parts,
    distinctCategories,
  } = gaugeByRange(readings.map((own) => [own]));
  const byRange = { meanRange, repeatability: rangeRepeatability, betweenCells: parts, distinctCategories };
  const ofLot = present.length > readings.length;
  const total = ofLot ? standardDeviation(present) : study.total;
  const found: Judgement = {
    ...open,
    betweenCells: study.parts,
    f,
    pValue,
    byRange,
    basis: ofLot ? 'lot' : 'study',
  };
  if (!(total > 0)) return { ...found, reason: 'no-spread' };
  const { repeatability } = study;
  const ratio = Math.min(1, repeatability / total);
  const between = Math.sqrt(Math.max(0, total * total - repeatability * repeatability));
  const alike = pValue !== null && pValue > SIGNIFICANT;
  return {
    ...found,
    ratio,
    distinctCategories:
      repeatability > 0 ? Math.max(1, Math.floor((Math.SQRT2 * between) / repeatability)) : null,
    verdict: alike || ratio > 0.3 ? 'not-enough' : ratio > 0.1 ? 'limited' : 'good',
  };
}
