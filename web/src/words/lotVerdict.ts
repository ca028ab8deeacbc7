import type { ColumnStatistics, WarningSign } from '../../../server/contract/lots.ts';
import { percent, significant } from '../format/number.ts';
import { quantity } from '../format/quantity.ts';
import type { UnitChoice } from '../settings/units.ts';

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
      ? 'Nothing has been measured yet that could be compared'
      : unusual.size === 0
        ? `All ${lot.cells} cells show nothing unusual`
        : `${lot.cells - unusual.size} of ${lot.cells} cells show nothing unusual`,
    counted(outliers, 'outlier', 'outliers'),
    counted(outside, 'outside its specification', 'outside their specification'),
    counted(signs, 'with a warning sign', 'with a warning sign'),
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
      ? `${names.slice(0, NAMED).join(', ')} and ${names.length - NAMED} more`
      : names.join(', ');
  return `${cells.size} ${cells.size === 1 ? one : many} (${said})`;
}

/** Cpk of 1: the nearest limit lies three standard deviations from the mean. */
function specification({ title, column: { capability: c } }: JudgedColumn): string {
  if (c.cpk === null || c.cpkInterval === null) return '';
  const [low, high] = c.cpkInterval;
  const verdict = low >= 1 ? 'meets' : high < 1 ? 'does not meet' : 'may or may not meet';
  return `${title} ${verdict} its specification (Cpk ${significant(c.cpk, 2)}, ${significant(low, 2)} to ${significant(high, 2)}).`;
}

/** The smallest difference between two cells that is more than measurement error at 95 %. */
function resolution({ title, column: { resolution: r, unit } }: JudgedColumn, units: UnitChoice): string {
  if (r.typicalUncertainty === null || r.verdict === 'unknown' || r.verdict === 'good') return '';
  const least = 1.96 * Math.SQRT2 * r.typicalUncertainty;
  return `${title}: the measurement cannot tell two cells apart that differ by less than ${quantity(least, unit, units, 2)}.`;
}

function ratedWarning(lot: LotToJudge, units: UnitChoice): string[] {
  const capacity = lot.judged.find((j) => j.column.key.split('/')[0] === 'capacity')?.column.median;
  if (typeof capacity !== 'number') return [];
  const ratio = capacity / lot.ratedCapacityAh - 1;
  if (Math.abs(ratio) <= RATED_MARGIN) return [];
  const shown = quantity(capacity, 'Ah', units, 3);
  return [
    `The median capacity, ${shown}, is ${percent(Math.abs(ratio), 0)} ${ratio < 0 ? 'below' : 'above'} the rated ${quantity(lot.ratedCapacityAh, 'Ah', units, 3)} of ${lot.cellTypeName}. Check the cell type and the unit before you use any limit: a wrong cell type means wrong voltage limits.`,
  ];
}
