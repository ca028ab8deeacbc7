import {
  chiSquareQuantile,
  fQuantile,
  type GaugeReadings,
  gaugeByRange,
  gaugeByVariance,
  pooledRepeatability,
  standardDeviation,
} from '../../../fitting/statistics/index.ts';
import type { GaugeStudy } from '../../contract/gauge.ts';

/** Cells are taken as different where this much chance or less would make them look so. */
const SIGNIFICANT = 0.05;
/** Level of the intervals. */
const LEVEL = 0.95;
/** Share of the spread up to which a gauge is good, and limited (AIAG, Measurement Systems Analysis, 4th ed.; from memory). */
const GOOD = 0.1;
const LIMITED = 0.3;

/** One reading of a cell in a study. */
export interface GaugeReading {
  readonly cellId: number;
  readonly serial: string;
  readonly value: number;
  readonly operator: string | null;
}

/** The readings that enter a study, equally many of each cell, and of each operator where several took them. */
export interface ArrangedReadings {
  readonly cells: GaugeStudy['cells'];
  /** Null where one operator, or nobody named, took the readings. */
  readonly operators: readonly string[] | null;
  readonly readings: GaugeReadings;
  readonly trials: number;
  readonly leftOut: number;
  readonly operatorsReason: GaugeStudy['operatorsReason'];
}

/**
 * Arranges repeated readings for a study: crossed (every operator measured every cell twice or more) where that can be, else without
 * regard to operators.
 *
 * @param all newest first
 */
export function arrangeReadings(all: readonly GaugeReading[]): ArrangedReadings {
  const named = [...new Set(all.flatMap(({ operator }) => (operator === null ? [] : [operator])))].sort();
  if (named.length < 2) return plainStudy(all, named.length === 0 ? 'operators-not-stated' : 'one-operator');
  const byCell = readingsByCell(all).map((own) =>
    named.map((name) => own.filter(({ operator }) => operator === name)),
  );
  const crossed = byCell.filter((own) => own.every((readings) => readings.length > 1));
  if (crossed.length < 2) return plainStudy(all, 'not-crossed');
  const trials = Math.min(...crossed.flat().map(({ length }) => length));
  const taken = crossed.map((own) => own.map((readings) => readings.slice(0, trials)));
  return {
    cells: taken.map((own) => {
      const readings = own.flat();
      const { cellId, serial } = readings[0];
      return {
        cellId,
        serial,
        readings: readings.map(({ value }) => value),
        operators: readings.map(({ operator }) => operator ?? ''),
      };
    }),
    operators: named,
    readings: taken.map((own) => own.map((readings) => readings.map(({ value }) => value))),
    trials,
    leftOut: all.length - trials * named.length * crossed.length,
    operatorsReason: null,
  };
}

function readingsByCell(all: readonly GaugeReading[]): GaugeReading[][] {
  const byCell = new Map<number, GaugeReading[]>();
  for (const reading of all) {
    const own = byCell.get(reading.cellId);
    if (own) own.push(reading);
    else byCell.set(reading.cellId, [reading]);
  }
  return [...byCell.values()];
}

function plainStudy(
  all: readonly GaugeReading[],
  operatorsReason: GaugeStudy['operatorsReason'],
): ArrangedReadings {
  const repeated = readingsByCell(all).filter(({ length }) => length > 1);
  const trials = repeated.length === 0 ? 0 : Math.min(...repeated.map(({ length }) => length));
  const cells = repeated.map((own) => ({
    cellId: own[0].cellId,
    serial: own[0].serial,
    readings: own.slice(0, trials).map(({ value }) => value),
    operators: null,
  }));
  return {
    cells,
    operators: null,
    readings: cells.map(({ readings }) => [readings]),
    trials,
    leftOut: repeated.reduce((sum, own) => sum + own.length - trials, 0),
    operatorsReason,
  };
}

/** What a study says, apart from its readings. */
export type GaugeJudgement = Pick<
  GaugeStudy,
  | 'repeatability'
  | 'repeatabilityInterval'
  | 'repeatabilityLimit'
  | 'crossed'
  | 'betweenCells'
  | 'f'
  | 'pValue'
  | 'byRange'
  | 'basis'
  | 'ratio'
  | 'ratioInterval'
  | 'distinctCategories'
  | 'verdict'
  | 'reason'
>;

/**
 * Judges fixture and instrument by analysis of variance, cells and operators random. The gauge is the repeatability, with several operators
 * also their differences.
 *
 * @param arranged equally many readings of each cell
 * @param present one value of each cell of the lot
 */
export function judgeGauge(
  { readings, operators }: ArrangedReadings,
  present: readonly number[],
): GaugeJudgement {
  const groups = readings.flat();
  const pooled = groups.length === 0 ? null : pooledRepeatability(groups);
  const open: GaugeJudgement = {
    repeatability: pooled?.standardDeviation ?? null,
    repeatabilityInterval: null,
    repeatabilityLimit: pooled?.repeatabilityLimit ?? null,
    crossed: null,
    betweenCells: null,
    f: null,
    pValue: null,
    byRange: null,
    basis: null,
    ratio: null,
    ratioInterval: null,
    distinctCategories: null,
    verdict: 'unknown',
    reason: null,
  };
  if (pooled === null) return { ...open, reason: 'no-repeats' };
  if (readings.length < 2) return { ...open, reason: 'one-cell' };
  const study = gaugeByVariance(readings);
  const range = gaugeByRange(readings);
  const { f, pValue } = study.table[0];
  const ofLot = present.length > readings.length;
  const total = ofLot ? standardDeviation(present) : study.total;
  const degrees = study.table[3].degrees + (study.pooled ? study.table[2].degrees : 0);
  const found: GaugeJudgement = {
    ...open,
    repeatability: study.repeatability,
    repeatabilityInterval: deviationInterval(study.repeatability, degrees),
    crossed: operators === null ? null : crossedOf(study, range),
    betweenCells: study.parts,
    f,
    pValue,
    byRange: {
      meanRange: range.meanRange,
      repeatability: range.repeatability,
      betweenCells: range.parts,
      distinctCategories: range.distinctCategories,
    },
    basis: ofLot ? 'lot' : 'study',
  };
  if (!(total > 0)) return { ...found, reason: 'no-spread' };
  const { gauge } = study;
  const ratio = Math.min(1, gauge / total);
  const between = Math.sqrt(Math.max(0, total * total - gauge * gauge));
  const alike = pValue !== null && pValue > SIGNIFICANT;
  const trials = groups[0].length;
  return {
    ...found,
    ratio,
    // With operators the components have few degrees of freedom each, and no interval of their sum holds what it says.
    ratioInterval:
      operators !== null
        ? null
        : ofLot
          ? againstLot(ratio, degrees, present.length - 1)
          : withinStudy(f, readings.length, trials),
    distinctCategories: gauge > 0 ? Math.max(1, Math.floor((Math.SQRT2 * between) / gauge)) : null,
    verdict: alike || ratio > LIMITED ? 'not-enough' : ratio > GOOD ? 'limited' : 'good',
  };
}

function crossedOf(
  study: ReturnType<typeof gaugeByVariance>,
  range: ReturnType<typeof gaugeByRange>,
): GaugeStudy['crossed'] {
  const [, operators, interaction] = study.table;
  return {
    reproducibility: study.reproducibility,
    gauge: study.gauge,
    operatorF: operators.f,
    operatorPValue: operators.pValue,
    interactionF: interaction.f,
    interactionPValue: interaction.pValue,
    interactionPooled: study.pooled,
    reproducibilityByRange: range.reproducibility,
    gaugeByRange: range.gauge,
  };
}

/** Interval of a standard deviation by χ². */
function deviationInterval(deviation: number, degrees: number): { low: number; high: number } | null {
  if (degrees < 1 || !(deviation > 0)) return null;
  const end = (p: number): number => deviation * Math.sqrt(degrees / chiSquareQuantile(p, degrees));
  return { low: end(0.5 + LEVEL / 2), high: end(0.5 - LEVEL / 2) };
}

/** Of repeatability over the lot's spread: the ratio of two variances, independent but for the readings they share. */
function againstLot(
  ratio: number,
  degrees: number,
  lotDegrees: number,
): { low: number; high: number } | null {
  if (degrees < 1 || lotDegrees < 1 || !(ratio > 0)) return null;
  const end = (p: number): number => Math.min(1, ratio / Math.sqrt(fQuantile(p, degrees, lotDegrees)));
  return { low: end(0.5 + LEVEL / 2), high: end(0.5 - LEVEL / 2) };
}

/**
 * Of repeatability over the study's total spread, from the exact interval of the ratio of the components of a one-way
 * analysis with random cells (S. R. Searle, Linear Models, 1971, 9.9; from memory).
 */
function withinStudy(f: number | null, cells: number, trials: number): { low: number; high: number } | null {
  if (f === null) return null;
  const [above, below] = [cells - 1, cells * (trials - 1)];
  const share = (p: number): number => Math.max(0, (f / fQuantile(p, above, below) - 1) / trials);
  const ratio = (between: number): number => 1 / Math.sqrt(1 + between);
  return { low: ratio(share(0.5 - LEVEL / 2)), high: ratio(share(0.5 + LEVEL / 2)) };
}
