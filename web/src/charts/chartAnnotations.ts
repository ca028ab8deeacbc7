import type { Chart } from 'chart.js';
import type {
  AnnotationOptions,
  BoxAnnotationOptions,
  LineAnnotationOptions,
} from 'chartjs-plugin-annotation';
import { significant } from '../format/number.ts';
import { dashes } from './dashes.ts';
import { inkOnRamp, type Palette, rampColour, seriesColour } from './palette.ts';
import type { Area, Line, Picture } from './picture.ts';

/** Areas and lines of a picture as the annotation plugin wants them. */
export function annotations(picture: Picture, palette: Palette): Record<string, AnnotationOptions> {
  const entries: [string, AnnotationOptions][] = [];
  picture.areas?.forEach((area, i) => {
    entries.push([`area${i}`, box(area, palette)]);
  });
  const level = picture.lines?.filter((l) => l.axis !== 'x') ?? [];
  picture.lines?.forEach((line, i) => {
    // Of several level lines the names stand above and below in turn, so that two close ones can both be read.
    const lift = line.axis === 'x' || level.length < 2 ? 0 : level.indexOf(line) % 2 === 0 ? -9 : 9;
    const place = emptiestPlace(line, picture) ?? labelPlaces[i % labelPlaces.length];
    entries.push([`line${i}`, rule(line, palette, place, lift)]);
  });
  return Object.fromEntries(entries);
}

function box(area: Area, palette: Palette): { type: 'box' } & BoxAnnotationOptions {
  const colour = area.ramp
    ? rampColour(palette, area.strength)
    : seriesColour(palette, area.ink, area.strength);
  return {
    type: 'box',
    xMin: area.from,
    xMax: area.to,
    ...(area.low === undefined ? {} : { yMin: area.low }),
    ...(area.high === undefined ? {} : { yMax: area.high }),
    backgroundColor: colour,
    borderWidth: area.ramp ? 1 : 0,
    borderColor: palette.paper,
    drawTime: area.ramp ? 'afterDatasetsDraw' : 'beforeDatasetsDraw',
    ...(area.title === undefined ? {} : { label: titleOf(area, area.title, palette) }),
    ...(area.value === undefined || area.value === null
      ? {}
      : {
          label: {
            // Where fields are too narrow for their numbers, colour speaks alone and the table has the numbers.
            display: ({ chart }) => fieldWidth(chart, area) >= leastFieldWidth,
            content: significant(area.value, 3),
            color: inkOnRamp(area.strength),
            font: { size: 11 },
          },
        }),
  };
}

/** The name of a stretch at its top; where that has no room its mark, which may stand out over the sides. */
function titleOf(area: Area, title: string, palette: Palette): NonNullable<BoxAnnotationOptions['label']> {
  const fits = (chart: Chart) => fieldWidth(chart, area) >= 7 * title.length + 8;
  return {
    display: ({ chart }) => fits(chart) || area.mark !== undefined,
    content: ({ chart }) => (fits(chart) ? title : (area.mark ?? '')),
    position: { x: 'center', y: 'start' },
    padding: 2,
    color: palette.faint,
    font: { size: 11, weight: 'normal' },
  };
}

/** A number of three digits with its point, at the size of the fields' text. */
const leastFieldWidth = 28;

function fieldWidth({ scales: { x } }: Chart, { from, to }: Area): number {
  return x === undefined ? 0 : Math.abs(x.getPixelForValue(to) - x.getPixelForValue(from));
}

/** Names of lines that lie close together stand apart along them. */
const labelPlaces = ['end', 'center', 'start'] as const;

/** A curve this near to a line, as a share of the height, is covered by the name of the line. */
const coveredShare = 0.08;
const stretches = [
  ['end', 0.7, 1],
  ['start', 0, 0.3],
  ['center', 0.35, 0.65],
] as const;

/** Where the name of a level line covers least of the curves; null where it covers nothing anywhere, or there is one line more. */
function emptiestPlace(line: Line, { series, x, lines }: Picture): (typeof labelPlaces)[number] | null {
  const level = (lines ?? []).filter(({ axis }) => axis !== 'x');
  if (line.axis !== 'y' || level.length > 1) return null;
  const points = series
    .filter(({ axis }) => axis !== 'y2')
    .flatMap((one) => one.points.flatMap((p) => (p.y === null ? [] : [{ x: p.x, y: p.y }])));
  if (points.length === 0) return null;
  const along = points.map((p) => p.x);
  const up = [...points.map((p) => p.y), line.at];
  const from = x.min ?? Math.min(...along);
  const length = (x.max ?? Math.max(...along)) - from;
  const height = Math.max(...up) - Math.min(...up);
  if (!(length > 0 && height > 0)) return null;
  const clear = stretches.map(([place, low, high]) => {
    const near = points.filter((p) => p.x >= from + low * length && p.x <= from + high * length);
    return { place, share: Math.min(1, ...near.map((p) => Math.abs(p.y - line.at) / height)) };
  });
  if (clear.every(({ share }) => share > coveredShare)) return null;
  return clear.reduce((best, one) => (one.share > best.share ? one : best)).place;
}

function rule(
  line: Line,
  palette: Palette,
  place: (typeof labelPlaces)[number],
  lift: number,
): { type: 'line' } & LineAnnotationOptions {
  const colour = seriesColour(palette, line.ink);
  return {
    type: 'line',
    scaleID: line.axis,
    value: line.at,
    borderColor: colour,
    borderWidth: 1.5,
    borderDash: dashes[line.dash ?? 'dashed'],
    drawTime: 'afterDatasetsDraw',
    label: {
      display: line.name !== '',
      content: line.name,
      position: place,
      yAdjust: lift,
      color: colour,
      // What lies behind a name shines through, so that no point is lost.
      backgroundColor: `${palette.paper}cc`,
      padding: 3,
      font: { size: 11, weight: 'normal' },
    },
  };
}
