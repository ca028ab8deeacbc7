import type { PairingResult } from '../../../../server/contract/pairingResult.ts';
import type { StoredPairing } from '../../../../server/contract/pairings.ts';
import { cellScatterPicture } from '../../charts/cellScatter.ts';
import type { Picture } from '../../charts/picture.ts';
import { tolerancePicture } from '../../charts/toleranceChart.ts';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { say } from '../../words/i18n.ts';
import { featureWords } from '../../words/quantities.ts';
import { joined } from './namesOf.ts';
import { setWords } from './setWords.ts';

/**
 * The cells on two features with the pairs that stand joined; cells left over have a shape of their own.
 *
 * @param open id of the pair whose cells stand out
 */
export function pairScatterPicture(
  { result, pairs }: Pick<StoredPairing, 'result' | 'pairs'>,
  xName: string,
  yName: string,
  units: UnitChoice,
  open = '',
): Picture | null {
  const x = result.features.find((f) => f.name === xName);
  const y = result.features.find((f) => f.name === yName);
  if (x === undefined || y === undefined) return null;
  const xUnit = displayUnit(x.unit, units);
  const yUnit = displayUnit(y.unit, units);
  const left = new Set(result.unpaired.map((u) => u.cell));
  const chosen = new Set(pairs.find((p) => String(p.id) === open)?.cells.map((c) => c.serial));
  const paired = (name: string) =>
    result.cells.flatMap((c) => {
      const value = left.has(c.cell) ? null : c.values.find((v) => v.feature === name)?.value;
      return typeof value === 'number' ? [value] : [];
    });
  const cells = result.cells.flatMap((cell) => {
    const at = (name: string) => cell.values.find((v) => v.feature === name)?.value;
    const cx = at(xName);
    const cy = at(yName);
    if (typeof cx !== 'number' || typeof cy !== 'number') return [];
    return [
      {
        name: cell.cell,
        x: cx * xUnit.factor,
        y: cy * yUnit.factor,
        outlier: left.has(cell.cell),
        chosen: chosen.has(cell.cell),
      },
    ];
  });
  const words = setWords(result.criteria.cellsPerStack);
  const picture = cellScatterPicture(
    words.scatter,
    { label: featureWords(x.name), unit: xUnit.symbol, ...around(paired(xName), xUnit.factor) },
    { label: featureWords(y.name), unit: yUnit.symbol, ...around(paired(yName), yUnit.factor) },
    cells,
    pairs.filter((p) => p.state !== 'rejected').map((p) => p.cells.map((c) => c.serial)),
  );
  return {
    ...picture,
    series: picture.series.map((s) =>
      s.name === say('charts.outliers')
        ? { ...s, name: say('pairings.leftOver') }
        : s.name === say('charts.pairs')
          ? { ...s, name: words.title }
          : s,
    ),
  };
}

/** The range of the paired cells with some room: a cell far away must not squeeze the pairs into a corner. */
function around(values: readonly number[], factor: number): { min?: number; max?: number } {
  if (values.length < 2) return {};
  const low = Math.min(...values) * factor;
  const high = Math.max(...values) * factor;
  const room = 0.15 * (high - low);
  return room > 0 ? { min: low - room, max: high + room } : {};
}

/** Cells left over that lie outside what the picture shows. */
export function outsidePicture(picture: Picture): string[] {
  const inside = (value: number | null, { min = -Infinity, max = Infinity }: Picture['x']) =>
    value !== null && value >= min && value <= max;
  const left = picture.series.find((s) => s.name === say('pairings.leftOver'));
  return (left?.points ?? []).flatMap((p) =>
    p.name !== undefined && !(inside(p.x, picture.x) && inside(p.y, picture.y)) ? [p.name] : [],
  );
}

/** What each pair costs, from the cheapest to the dearest. */
export function costPicture(result: PairingResult): Picture {
  const words = setWords(result.criteria.cellsPerStack);
  const ranked = [...result.pairs].sort((a, b) => a.cost - b.cost);
  return {
    title: words.costs,
    x: { label: words.fromTheCheapest, unit: '', min: 0, max: ranked.length + 1, whole: true },
    y: { label: say('pairings.cost'), unit: '', min: 0 },
    series: [
      {
        name: words.title,
        points: ranked.map((p, i) => ({ x: i + 1, y: p.cost, name: joined(p.cells) })),
        draw: 'points',
        ink: 0,
        shape: 'circle',
      },
    ],
  };
}

export function toleranceOf(result: PairingResult): Picture {
  return tolerancePicture(result.toleranceChart, Math.floor(result.cells.length / 2));
}
