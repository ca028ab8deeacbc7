import type { ChartConfiguration, ChartDataset, Point as ChartPoint, ScaleOptionsByType } from 'chart.js';
import { significant } from '../format/number.ts';
import { locale } from '../words/language.ts';
import { annotations } from './chartAnnotations.ts';
import { zoom } from './chartZoom.ts';
import { dashes } from './dashes.ts';
import type { DrawingOptions } from './drawingOptions.ts';
import { endNames, roomForNames } from './endNames.ts';
import { equalScales } from './equalScales.ts';
import { type Palette, seriesColour } from './palette.ts';
import { type Axis, axisName, type Picture, type Series } from './picture.ts';

export type LineConfig = ChartConfiguration<'line', ChartPoint[]>;

const pointStyles = {
  circle: 'circle',
  triangle: 'triangle',
  square: 'rect',
  diamond: 'rectRot',
  cross: 'crossRot',
  plus: 'cross',
  none: 'line',
} as const;

/** A picture as the drawing library wants it. Pure: the same picture and options give the same configuration. */
export function chartConfig(picture: Picture, options: DrawingOptions): LineConfig {
  return {
    type: 'line',
    data: { datasets: picture.series.map((s) => dataset(s, options.palette)) },
    plugins: [
      ...(picture.equalScales === true ? [equalScales] : []),
      ...(picture.namesAtEnds === true ? [endNames(picture.series, options.palette)] : []),
    ],
    options: {
      animation: false,
      maintainAspectRatio: false,
      responsive: true,
      parsing: false,
      normalized: false,
      locale,
      font: { family: options.fontFamily, size: 12 },
      color: options.palette.ink,
      layout: picture.namesAtEnds === true ? { padding: { right: roomForNames } } : {},
      ...(options.onPoint === undefined ? {} : { onClick: pressed(picture, options.onPoint) }),
      interaction: { mode: 'nearest', intersect: false, axis: 'xy' },
      scales: scales(picture, options.palette),
      plugins: {
        legend: legend(picture, options.palette),
        tooltip: tooltip(picture),
        annotation: { annotations: annotations(picture, options.palette) },
        zoom: zoom(options),
      },
    },
  };
}

/** Tells which named point was pressed; a press beside all points says nothing. */
function pressed(picture: Picture, tell: (name: string) => void) {
  return (_event: unknown, items: readonly { datasetIndex: number; index: number }[]) => {
    const [item] = items;
    const name = item === undefined ? undefined : picture.series[item.datasetIndex].points[item.index]?.name;
    if (name !== undefined) tell(name);
  };
}

function dataset(series: Series, palette: Palette): ChartDataset<'line', ChartPoint[]> {
  const colour = series.faint === true ? `${palette.faint}70` : seriesColour(palette, series.ink);
  const shape = series.shape ?? 'circle';
  const asLine = series.draw !== 'points';
  const showsPoints = series.draw === 'points' || series.draw === 'line-and-points';
  const filled = series.draw === 'filled-steps';
  return {
    label: series.name,
    ...(series.over === true ? { order: -1 } : {}),
    data: series.points.map((p) => ({ x: p.x, y: p.y ?? Number.NaN })),
    // Ready-made points are taken to ascend: of others the axis would end short, and zooming would drop some.
    ...(ascends(series.points) ? {} : { parsing: { xAxisKey: 'x', yAxisKey: 'y' } }),
    yAxisID: series.axis ?? 'y',
    showLine: asLine,
    stepped: series.draw === 'stepped' || filled ? 'before' : false,
    borderColor: colour,
    backgroundColor: seriesColour(palette, series.ink, filled ? 0.35 : (series.fillStrength ?? 0.55)),
    borderWidth: series.width ?? 1.5,
    borderDash: dashes[series.dash ?? 'solid'],
    fill: filled ? 'origin' : (series.fillTo ?? false),
    pointStyle: pointStyles[shape],
    pointRadius: showsPoints ? pointRadius(series.points.length) : 0,
    pointHoverRadius: showsPoints ? 6 : 3,
    pointHitRadius: 6,
    spanGaps: false,
  };
}

function ascends(points: Series['points']): boolean {
  return points.every((p, i) => i === 0 || p.x >= points[i - 1].x);
}

function pointRadius(count: number): number {
  return count > 2000 ? 1.2 : count > 300 ? 1.8 : count > 100 ? 3 : 4;
}

function scales(picture: Picture, palette: Palette) {
  return {
    x: { ...scale(picture.x, palette), position: 'bottom' as const },
    y: { ...scale(picture.y, palette), position: 'left' as const, afterFit: keepWidth },
    ...(picture.y2 === undefined
      ? {}
      : {
          y2: {
            ...scale(picture.y2, palette),
            position: 'right' as const,
            grid: { drawOnChartArea: false, color: palette.rule },
          },
        }),
  };
}

/** One width for all vertical axes, so that charts below each other share their horizontal axis to the pixel. */
function keepWidth(axis: { width: number }): void {
  axis.width = Math.max(axis.width, 66);
}

type ScaleOptions = Partial<Pick<ScaleOptionsByType<'linear'>, 'min' | 'max'>>;

function scale(axis: Axis, palette: Palette) {
  const range: ScaleOptions = {
    ...(axis.min === undefined ? {} : { min: axis.min }),
    ...(axis.max === undefined ? {} : { max: axis.max }),
  };
  const names = axis.ticks;
  return {
    type: axis.scale ?? ('linear' as const),
    ...range,
    // Words along an axis say themselves what they are; numbers do not.
    title: {
      display: names?.every((t) => Number.isFinite(Number(t.name))) ?? true,
      text: axisName(axis),
      color: palette.ink,
    },
    grid: { color: palette.rule },
    border: { color: palette.faint },
    ticks: {
      color: palette.faint,
      maxRotation: 0,
      // An end of the range that is no round number would be written as one, and in the wrong place.
      includeBounds: false,
      ...(axis.whole === true ? { precision: 0 } : {}),
      ...(names === undefined
        ? {}
        : {
            autoSkip: false,
            callback: (value: string | number) =>
              folded(names.find((t) => t.at === Number(value))?.name ?? ''),
          }),
    },
    ...(names === undefined
      ? {}
      : {
          afterBuildTicks: (built: { ticks: { value: number }[] }) => {
            built.ticks = names.map((t) => ({ value: t.at }));
          },
        }),
  };
}

/** A name folded into lines of a width that leaves room for the drawing on a narrow sheet. */
export function folded(name: string, most = 16): string[] {
  const lines: string[] = [];
  for (const word of name.split(' ')) {
    const last = lines[lines.length - 1];
    if (last !== undefined && last.length + 1 + word.length <= most)
      lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

function legend(picture: Picture, palette: Palette) {
  const shown = picture.series.filter((s) => !s.quiet).length;
  return {
    display: shown > 1 && picture.namesAtEnds !== true,
    position: 'bottom' as const,
    labels: {
      color: palette.ink,
      usePointStyle: true,
      boxHeight: 7,
      filter: (item: { datasetIndex?: number }) => picture.series[item.datasetIndex ?? 0]?.quiet !== true,
    },
  };
}

function tooltip(picture: Picture) {
  const withUnit = (axis: Axis, value: number) =>
    `${axis.label} ${axis.ticks?.find((t) => t.at === value)?.name ?? significant(value, 5)}${axis.unit === '' ? '' : ` ${axis.unit}`}`;
  return {
    displayColors: false,
    callbacks: {
      title: (items: { datasetIndex: number; dataIndex: number }[]) => {
        const [item] = items;
        if (item === undefined) return '';
        const series = picture.series[item.datasetIndex];
        return series.points[item.dataIndex]?.name ?? series.name;
      },
      label: (item: { datasetIndex: number; dataIndex: number }) => {
        const series = picture.series[item.datasetIndex];
        const point = series.points[item.dataIndex];
        const axis = series.axis === 'y2' && picture.y2 !== undefined ? picture.y2 : picture.y;
        return point === undefined || point.y === null
          ? ''
          : [withUnit(picture.x, point.x), withUnit(axis, point.y)];
      },
    },
  };
}
