import { say } from '../words/i18n.ts';
import type { Axis, Picture, Point, Series } from './picture.ts';

export interface ScatterCell {
  readonly name: string;
  readonly x: number;
  readonly y: number;
  readonly outlier?: boolean;
  readonly chosen?: boolean;
}

/**
 * Cells on two axes; outliers have their own shape and colour, chosen cells a ring of their own.
 *
 * @param lines drawn through the cells; they come first, because a band fills to a series by its position
 */
export function cellScatterPicture(
  title: string,
  x: Axis,
  y: Axis,
  cells: readonly ScatterCell[],
  pairs: readonly (readonly string[])[] = [],
  lines: readonly Series[] = [],
): Picture {
  const place = ({ name, x: cx, y: cy }: ScatterCell): Point => ({ x: cx, y: cy, name });
  const groups: Series[] = [
    {
      name: say('charts.cells'),
      points: cells.filter((c) => !c.outlier && !c.chosen).map(place),
      draw: 'points',
      ink: 0,
      shape: 'circle',
    },
    {
      name: say('charts.outliers'),
      points: cells.filter((c) => c.outlier && !c.chosen).map(place),
      draw: 'points',
      ink: 1,
      shape: 'triangle',
    },
    {
      name: say('charts.chosen'),
      points: cells.filter((c) => c.chosen).map(place),
      draw: 'points',
      ink: 2,
      shape: 'diamond',
    },
  ];
  const joins = pairJoins(cells, pairs);
  return {
    title,
    x,
    y,
    series: [...lines, ...groups.filter((g) => g.points.length > 0), ...(joins === null ? [] : [joins])],
  };
}

/** One broken line that joins the two cells of every pair; a group of more is joined all round. */
function pairJoins(cells: readonly ScatterCell[], pairs: readonly (readonly string[])[]): Series | null {
  if (pairs.length === 0) return null;
  const at = new Map(cells.map((c) => [c.name, c]));
  const points = pairs.flatMap((names): Point[] => {
    const found = names.flatMap((name) => at.get(name) ?? []);
    if (found.length < names.length) return [];
    const round = found.length > 2 ? [...found, found[0]] : found;
    return [
      ...round.map(({ x, y, name }) => ({
        x,
        y,
        name: say('charts.aWithB', { a: name, b: names.filter((other) => other !== name).join(', ') }),
      })),
      { x: round[round.length - 1].x, y: null },
    ];
  });
  return { name: say('charts.pairs'), points, draw: 'line', ink: 7, shape: 'none', width: 1.5 };
}
