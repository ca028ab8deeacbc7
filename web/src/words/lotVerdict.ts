import type { ColumnStatistics, WarningSign } from '../../../server/contract/lots.ts';
import { percent, significant } from '../format/number.ts';
import { quantity } from '../format/quantity.ts';
import type { UnitChoice } from '../settings/units.ts';
import { say } from './i18n.ts';

/** A column of a lot that was judged, with its name in words. */
export interface JudgedColumn {
  readonly title: string;
  readonly column: ColumnStatistics;
}

export interface LotToJudge {
  readonly cells: number;
  readonly cellTypeName: string;
  readonly ratedCapacityAh: number;
  readonly judged: readonly JudgedColumn[];
  readonly warningSigns: readonly WarningSign[];
}

/** The answer about a lot: one sentence, what belongs to it, and what has to be looked at first. */
export interface LotVerdict {
  readonly answer: string;
  readonly details: readonly string[];
  readonly warnings: readonly string[];
}

/** A capacity farther than this from the rated one points to another cell type or unit. Common practice, no source. */
const RATED_MARGIN = 0.15;
/** So many names are said; the others are counted. */
const NAMED = 4;

/** Says of a lot in words how many cells show nothing unusual, which do, and whether measuring is good enough. */
export function lotVerdict(lot: LotToJudge, units: UnitChoice): LotVerdict {
  const judged = lot.judged.map((j) => ({ ...j, title: shortTitle(j.title, lot.judged) }));
  const signs = new Map(lot.warningSigns.map((s) => [s.cellId, s.serial]));
  const outliers = new Map(lot.judged.flatMap((j) => j.column.outliers.map((o) => [o.cellId, o.serial])));
  const outside = new Map(
    lot.judged.flatMap((j) => j.column.capability.outside.map((o) => [o.cellId, o.serial])),
  );
  const unusual = new Set([...signs.keys(), ...outliers.keys(), ...outside.keys()]);
  const parts = [
    lot.judged.length === 0
      ? say('words.nothingHasBeenMeasuredYetThat')
      : unusual.size === 0
        ? say('words.allCellsCellsShowNothingUnusual', { cells: lot.cells })
        : say('words.cellsOfCells2CellsShowNothing', { cells: lot.cells - unusual.size, cells2: lot.cells }),
    counted(outliers, say('words.outlier'), say('words.outliers')),
    counted(outside, say('words.outsideItsSpecification'), say('words.outsideTheirSpecification')),
    counted(signs, say('words.withAWarningSign'), say('words.withAWarningSign')),
  ].filter((text) => text !== '');
  return {
    answer: `${parts.join('; ')}.`,
    details: judged.flatMap((j) => [specification(j), resolution(j, units)]).filter((t) => t !== ''),
    warnings: ratedWarning(lot, units),
  };
}

/** `R(10 s)` for `R(10 s), discharge, 50 % SOC, 25 °C` where no other column is called so. */
function shortTitle(title: string, all: readonly JudgedColumn[]): string {
  const short = title.split(',')[0];
  return all.filter((j) => j.title.split(',')[0] === short).length === 1 ? short : title;
}

function counted(cells: ReadonlyMap<number, string>, one: string, many: string): string {
  if (cells.size === 0) return '';
  const names = [...cells.values()].sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
  const said =
    names.length > NAMED
      ? say('words.namesAndNames2More', {
          names: names.slice(0, NAMED).join(', '),
          names2: names.length - NAMED,
        })
      : names.join(', ');
  return `${cells.size} ${cells.size === 1 ? one : many} (${said})`;
}

/** Cpk of 1: the nearest limit lies three standard deviations from the mean. */
function specification({ title, column: { capability: c } }: JudgedColumn): string {
  if (c.cpk === null || c.cpkInterval === null) return '';
  const [low, high] = c.cpkInterval;
  const verdict =
    low >= 1 ? say('words.meets') : high < 1 ? say('words.doesNotMeet') : say('words.mayOrMayNotMeet');
  return say('words.titleVerdictItsSpecificationCpkCpk', {
    title,
    verdict,
    cpk: significant(c.cpk, 2),
    low: significant(low, 2),
    high: significant(high, 2),
  });
}

/** The smallest difference between two cells that is more than measurement error at 95 %. */
function resolution({ title, column: { resolution: r, unit } }: JudgedColumn, units: UnitChoice): string {
  if (r.typicalUncertainty === null || r.verdict === 'unknown' || r.verdict === 'good') return '';
  const least = 1.96 * Math.SQRT2 * r.typicalUncertainty;
  return say('words.titleTheMeasurementCannotTellTwo', { title, least: quantity(least, unit, units, 2) });
}

function ratedWarning(lot: LotToJudge, units: UnitChoice): string[] {
  const capacity = lot.judged.find((j) => j.column.key.split('/')[0] === 'capacity')?.column.median;
  if (typeof capacity !== 'number') return [];
  const ratio = capacity / lot.ratedCapacityAh - 1;
  if (Math.abs(ratio) <= RATED_MARGIN) return [];
  const shown = quantity(capacity, 'Ah', units, 3);
  return [
    say('words.theMedianCapacityShownIsRatio', {
      shown,
      ratio: percent(Math.abs(ratio), 0),
      word: ratio < 0 ? say('words.below') : say('words.above'),
      ratedCapacityAh: quantity(lot.ratedCapacityAh, 'Ah', units, 3),
      cellTypeName: lot.cellTypeName,
    }),
  ];
}
