import { describe, expect, it } from 'vitest';
import { chartConfig, folded } from '../../web/src/charts/chartConfig.ts';
import { mayMove } from '../../web/src/charts/chartZoom.ts';
import {
  darkPalette,
  inkOnRamp,
  lightPalette,
  rampColour,
  seriesColour,
} from '../../web/src/charts/palette.ts';
import type { Picture } from '../../web/src/charts/picture.ts';
import { fileName, pictureTable, tableCsv } from '../../web/src/charts/pictureTable.ts';

const picture: Picture = {
  title: 'Capacity of lot A/1',
  x: { label: 'Time', unit: 's' },
  y: { label: 'Voltage', unit: 'V' },
  series: [
    {
      name: 'Measured',
      points: [
        { x: 0, y: 3.1, name: 'A-1' },
        { x: 1, y: null },
        { x: 2, y: 0.1 + 0.2, name: '=HYPERLINK("x")' },
      ],
      draw: 'points',
      ink: 0,
      shape: 'square',
    },
  ],
  areas: [{ from: 0, to: 1, ink: 2, strength: 0.1 }],
  lines: [{ axis: 'y', at: 3.2, name: 'limit', ink: 1 }],
};
const options = { palette: lightPalette, fontFamily: 'serif', zoom: true };

describe('the configuration of a chart', () => {
  it('names both axes with their units', () => {
    const { options: made } = chartConfig(picture, options);
    expect(made?.scales?.x).toMatchObject({ title: { display: true, text: 'Time, s' } });
    expect(made?.scales?.y).toMatchObject({ title: { display: true, text: 'Voltage, V' } });
  });

  it('breaks a line at a gap, gives the shape beside the colour, and draws areas and limits', () => {
    const config = chartConfig(picture, options);
    const [data] = config.data.datasets;
    expect(data.data[1].y).toBeNaN();
    expect(data.pointStyle).toBe('rect');
    expect(data.showLine).toBe(false);
    expect(Object.keys(config.options?.plugins?.annotation?.annotations ?? {})).toEqual(['area0', 'line0']);
  });

  it('reports the window only where the page holds it', () => {
    const seen: number[][] = [];
    const held = chartConfig(picture, { ...options, onWindow: (from, to) => seen.push([from, to]) });
    const zoomed = held.options?.plugins?.zoom?.zoom?.onZoomComplete as (event: unknown) => void;
    zoomed({ chart: { scales: { x: { min: 1, max: 2 } } } });
    expect(seen).toEqual([[1, 2]]);
    expect(held.options?.plugins?.zoom?.zoom?.mode).toBe('x');
  });

  it('leaves one finger up and down to the page, and moves the chart across only where it is zoomed', () => {
    const across = { deltaX: -30, deltaY: 4, pointerType: 'touch' };
    expect(mayMove(across, true)).toBe(true);
    expect(mayMove(across, false)).toBe(false);
    expect(mayMove({ ...across, deltaX: 3, deltaY: 40 }, true)).toBe(false);
    expect(mayMove({ ...across, pointerType: 'mouse' }, false)).toBe(true);
    const touched = chartConfig(picture, { ...options, finger: true }).options?.plugins?.zoom;
    expect(touched?.zoom?.drag?.enabled).toBe(false);
    expect(touched?.zoom?.pinch?.enabled).toBe(true);
    expect(touched?.pan?.mode).toBe('x');
  });

  it('folds long names along an axis between words, so that they leave room for the drawing', () => {
    expect(folded('voltage limit of a cell (QM041)')).toEqual(['voltage limit of', 'a cell (QM041)']);
    expect(folded('0.5')).toEqual(['0.5']);
    expect(folded('Selbstentladungsstrom')).toEqual(['Selbstentladungsstrom']);
  });

  it('has points read one by one where they do not ascend, so that the axis covers all of them', () => {
    const [series] = picture.series;
    const cells = [2.22, 2.24, 2.2].map((x) => ({ x, y: 27 }));
    const [read] = chartConfig({ ...picture, series: [{ ...series, points: cells }] }, options).data.datasets;
    expect(read.parsing).toEqual({ xAxisKey: 'x', yAxisKey: 'y' });
    const ascending = [...cells].sort((a, b) => a.x - b.x);
    const [taken] = chartConfig({ ...picture, series: [{ ...series, points: ascending }] }, options).data
      .datasets;
    expect(taken.parsing).toBeUndefined();
  });

  it('keeps the names of two close levels apart', () => {
    const lines = [3.2, 3.21].map((at) => ({ axis: 'y' as const, at, name: `${at} V`, ink: 1 }));
    const made = chartConfig({ ...picture, lines }, options).options?.plugins?.annotation?.annotations;
    const lifts = Object.entries(made ?? {})
      .filter(([key]) => key.startsWith('line'))
      .map(([, line]) => (line as { label: { yAdjust: number } }).label.yAdjust);
    expect(lifts).toEqual([-9, 9]);
  });
});

describe('the table of a chart', () => {
  it('holds every point with full precision and skips gaps', () => {
    const table = pictureTable(picture);
    expect(table.columns).toEqual(['Series', 'Time, s', 'Voltage, V', 'Name']);
    expect(table.rows).toEqual([
      ['Measured', 0, 3.1, 'A-1'],
      ['Measured', 2, 0.30000000000000004, '=HYPERLINK("x")'],
      ['limit', null, 3.2, null],
    ]);
  });

  it('becomes CSV that no spreadsheet runs as a formula', () => {
    const csv = tableCsv(pictureTable(picture));
    expect(csv.split('\r\n')[2]).toBe('Measured,2,0.30000000000000004,"\'=HYPERLINK(""x"")"');
    expect(csv.endsWith('\r\n')).toBe(true);
  });

  it('gets a file name of plain letters', () => {
    expect(fileName('R0 über SOC, 25 °C', 'png')).toBe('r0-uber-soc-25-c.png');
    expect(fileName('…', 'csv')).toBe('chart.csv');
  });
});

/** Relative luminance and contrast of the Web Content Accessibility Guidelines 2.2. */
function luminance(colour: string): number {
  const parts = [1, 3, 5].map((i) => Number.parseInt(colour.slice(i, i + 2), 16) / 255);
  const [r, g, b] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a: string, b: string): number {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

describe('the colours', () => {
  it('can be told from the paper in both schemes (contrast of graphics 3 : 1, text 4.5 : 1)', () => {
    for (const palette of [lightPalette, darkPalette]) {
      expect(contrast(palette.ink, palette.paper)).toBeGreaterThan(7);
      expect(contrast(palette.faint, palette.paper)).toBeGreaterThan(4.5);
    }
    for (const colour of lightPalette.series.slice(0, 3)) {
      expect(contrast(colour, lightPalette.paper)).toBeGreaterThan(2.9);
    }
    for (const colour of darkPalette.series) expect(contrast(colour, darkPalette.paper)).toBeGreaterThan(4.5);
  });

  it('of the ramp get lighter all the way, so that it reads in grey, and carry readable numbers', () => {
    const steps = Array.from({ length: 21 }, (_, i) => rampColour(lightPalette, i / 20));
    for (let i = 1; i < steps.length; i++)
      expect(luminance(steps[i])).toBeGreaterThan(luminance(steps[i - 1]));
    for (let i = 0; i <= 20; i++) expect(contrast(steps[i], inkOnRamp(i / 20))).toBeGreaterThan(4.5);
  });

  it('take an opacity', () => {
    expect(seriesColour(lightPalette, 0, 0.5)).toBe('#0072b280');
    expect(seriesColour(lightPalette, 8)).toBe(lightPalette.series[0]);
  });
});
