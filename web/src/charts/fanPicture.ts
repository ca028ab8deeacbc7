import { say } from '../words/i18n.ts';
import type { Axis, Line, Picture, Series } from './picture.ts';

export interface FanBand {
  /** Confidence of the band, 0…1. */
  readonly level: number;
  readonly x: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

export interface FanInput {
  readonly title: string;
  readonly x: Axis;
  readonly y: Axis;
  readonly measured: readonly { readonly x: number; readonly y: number; readonly excluded?: boolean }[];
  readonly model: readonly { readonly x: number; readonly y: number }[];
  readonly bands: readonly FanBand[];
  /** Where single readings about the model lie; null where that is not known. */
  readonly readings?: FanBand | null;
  /** Curves of other cells to compare with. */
  readonly others?: readonly {
    readonly name: string;
    readonly points: readonly { x: number; y: number }[];
  }[];
  /** Middle of the forecast; empty where there is none. */
  readonly forecast?: readonly { readonly x: number; readonly y: number }[];
  readonly thresholds: readonly { readonly name: string; readonly at: number }[];
  /** Where the measurements end and extrapolation begins. */
  readonly lastMeasured: number | null;
}

/** Measured points, the fitted curve and nested bands beyond it: the wider a band, the fainter. */
export function fanPicture(input: FanInput): Picture {
  const bands = [...input.bands].sort((a, b) => b.level - a.level).flatMap(bandSeries);
  const kept = input.measured.filter((p) => p.excluded !== true);
  const out = input.measured.filter((p) => p.excluded === true);
  const lines: Line[] = input.thresholds.map((t) => ({
    axis: 'y',
    at: t.at,
    name: t.name,
    ink: 1,
    dash: 'dashed',
  }));
  if (input.lastMeasured !== null && input.bands.length > 0) {
    lines.push({
      axis: 'x',
      at: input.lastMeasured,
      name: say('charts.extrapolationBegins'),
      ink: 7,
      dash: 'dotted',
    });
  }
  return {
    title: input.title,
    x: input.x,
    y: input.y,
    series: [
      ...bands,
      ...(input.forecast === undefined || input.forecast.length === 0
        ? []
        : [
            {
              name: say('charts.forecast'),
              points: untilFrame(input.forecast, input.y),
              draw: 'line',
              ink: 0,
              shape: 'none',
              width: 2,
              dash: 'dashed',
            } as const,
          ]),
      ...(input.others ?? []).map(
        ({ name, points }, i): Series => ({
          name,
          points,
          draw: 'line',
          ink: 3 + i,
          shape: 'none',
          width: 1.5,
          dash: 'long',
        }),
      ),
      ...(input.readings == null ? [] : readingSeries(input.readings)),
      { name: say('charts.model'), points: input.model, draw: 'line', ink: 0, shape: 'none', width: 2 },
      {
        name: say('charts.measured'),
        points: kept.map(({ x, y }) => ({ x, y })),
        draw: 'points',
        ink: 7,
        shape: 'circle',
      },
      ...(out.length === 0
        ? []
        : [
            {
              name: say('charts.leftOutOfTheFit'),
              points: out.map(({ x, y }) => ({ x, y })),
              draw: 'points',
              ink: 1,
              shape: 'cross',
            } as const,
          ]),
    ],
    lines,
  };
}

/** A forecast that leaves the frame ends there: along its edge it would say that the value stays. */
function untilFrame<P extends { readonly y: number }>(
  points: readonly P[],
  { min, max }: Axis,
): readonly P[] {
  const isOutside = ({ y }: P) => (max !== undefined && y >= max) || (min !== undefined && y <= min);
  const end = points.findIndex(isOutside);
  return end === -1 ? points : points.slice(0, end + 1);
}

/** The band of single readings about the model, as two thin lines. */
function readingSeries({ level, x, low, high }: FanBand): Series[] {
  const edge = (values: readonly number[]) => x.map((at, i) => ({ x: at, y: values[i] }));
  const plain = { draw: 'line', ink: 7, shape: 'none', width: 0.75, dash: 'dotted' } as const;
  const name = say('charts.percentOfReadingsAboutModel', { percent: Math.round(100 * level) });
  return [
    { ...plain, name: say('charts.nameUpper', { name }), points: edge(high), quiet: true },
    { ...plain, name, points: edge(low) },
  ];
}

/** Upper and lower edge of a band; the lower one is filled up to the upper. */
function bandSeries(band: FanBand, position: number): Series[] {
  const percent = `${Math.round(band.level * 100)} %`;
  const edge = (name: string, values: readonly number[]): Series => ({
    name,
    points: band.x.map((x, i) => ({ x, y: values[i] })),
    draw: 'line',
    ink: 0,
    shape: 'none',
    width: 0.75,
    dash: 'dotted',
  });
  return [
    { ...edge(say('charts.percentIntervalUpper', { percent }), band.high), quiet: true },
    {
      ...edge(say('charts.percentInterval', { percent }), band.low),
      fillTo: position * 2,
      fillStrength: 0.1 + 0.08 * position,
    },
  ];
}
