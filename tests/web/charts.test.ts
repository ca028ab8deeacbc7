import { describe, expect, it } from 'vitest';
import type { OpenCircuitCurve } from '../../server/contract/openCircuit.ts';
import { cellScatterPicture } from '../../web/src/charts/cellScatter.ts';
import { annotations } from '../../web/src/charts/chartAnnotations.ts';
import { fanPicture } from '../../web/src/charts/fanPicture.ts';
import { heatMapPicture } from '../../web/src/charts/heatMap.ts';
import { histogramPicture } from '../../web/src/charts/histogram.ts';
import { individualsPicture } from '../../web/src/charts/individuals.ts';
import { limitTimelinePicture } from '../../web/src/charts/limitTimeline.ts';
import { normalProbabilityPicture } from '../../web/src/charts/normalProbability.ts';
import { lightPalette } from '../../web/src/charts/palette.ts';
import type { Picture } from '../../web/src/charts/picture.ts';
import { recordPictures } from '../../web/src/charts/recordPictures.ts';
import { tolerancePicture } from '../../web/src/charts/toleranceChart.ts';
import { rateTablePicture } from '../../web/src/pages/charge/studyPictures.ts';
import { openCircuitPicture, slopePicture } from '../../web/src/pages/test/openCircuitPictures.ts';

const axis = { label: 'Capacity', unit: 'Ah' };

describe('a histogram', () => {
  it('draws the classes it is given as steps that end on the ground', () => {
    const classes = { edges: [2.2, 2.21, 2.22], counts: [3, 1] };
    const [{ points }] = histogramPicture({ title: 'Capacity', ...axis, classes }).series;
    expect(points).toEqual([
      { x: 2.2, y: 3 },
      { x: 2.21, y: 1 },
      { x: 2.22, y: 0 },
    ]);
  });

  it('shows the limits even where no cell comes near them', () => {
    const picture = histogramPicture({
      title: 'Capacity',
      ...axis,
      classes: { edges: [2.2, 2.22, 2.24], counts: [2, 2] },
      lowerLimit: 1.9,
      mean: 2.215,
    });
    expect(picture.lines?.map((l) => [l.name, l.at])).toEqual([
      ['lower limit', 1.9],
      ['mean', 2.215],
    ]);
    expect(picture.x.min).toBeLessThan(1.9);
  });

  it('has no class and no range for no value', () => {
    const picture = histogramPicture({ title: 'x', ...axis, classes: { edges: [], counts: [] } });
    expect(picture.series[0].points).toEqual([]);
    expect(picture.x).toEqual(axis);
  });
});

describe('a normal-probability plot', () => {
  it('leaves the line of the quartiles to run out of the sheet where an outlier lies far off', () => {
    const scores = [-1.4, -0.9, -0.5, -0.2, 0.2, 0.5, 0.9, 1.4];
    const values = scores.map((score, i) => ({
      name: `C${i}`,
      value: i === 7 ? 90 : i,
      score,
      outlier: i === 7,
    }));
    const picture = normalProbabilityPicture('R', 'R', 'mΩ', values);
    expect(picture.y).toMatchObject({ min: -2, max: 2 });
    expect(Math.max(...picture.series[2].points.map((p) => p.y ?? 0))).toBeGreaterThan(2);
  });

  it('puts outliers into a series of their own shape and keeps their names', () => {
    const picture = normalProbabilityPicture('R', 'R', 'mΩ', [
      { name: 'C1', value: 3, score: 0.3 },
      { name: 'C2', value: 1, score: -1.2 },
      { name: 'C3', value: 9, score: 1.2, outlier: true },
      { name: 'C4', value: 2, score: -0.3 },
    ]);
    const [cells, outliers, line] = picture.series;
    expect(cells.points.map((p) => p.name)).toEqual(['C2', 'C4', 'C1']);
    expect(outliers.points).toHaveLength(1);
    expect(outliers.points[0].name).toBe('C3');
    expect(outliers.shape).not.toBe(cells.shape);
    expect(line.points).toHaveLength(2);
  });
});

describe('an individuals chart', () => {
  it('keeps the order, and sets what lies outside apart by shape', () => {
    const picture = individualsPicture({
      title: 'R',
      label: 'R',
      unit: 'mΩ',
      values: [
        { name: 'C2', value: 1, outside: false },
        { name: 'C1', value: 9, outside: true },
      ],
      centre: 2,
      lower: 0,
      upper: 4,
    });
    expect(picture.series[0].points.map((p) => [p.x, p.name])).toEqual([
      [1, 'C2'],
      [2, 'C1'],
    ]);
    expect(picture.series[2].points).toEqual([{ x: 2, y: 9, name: 'C1' }]);
    expect(picture.series[2].shape).not.toBe(picture.series[1].shape);
    expect(picture.lines?.map((line) => line.at)).toEqual([2, 0, 4]);
  });
});

describe('a scatter of cells', () => {
  it('joins the two cells of a pair and breaks the line between pairs', () => {
    const cells = ['a', 'b', 'c', 'd'].map((name, i) => ({ name, x: i, y: 2 * i }));
    const picture = cellScatterPicture('Pairs', axis, axis, cells, [
      ['a', 'c'],
      ['b', 'd'],
      ['a', 'not there'],
    ]);
    const joins = picture.series.find((s) => s.name === 'Pairs');
    expect(joins?.points.map((p) => p.y)).toEqual([0, 4, null, 2, 6, null]);
    expect(joins?.points[0].name).toBe('a with c');
  });

  it('joins the cells of a larger group all round', () => {
    const cells = ['a', 'b', 'c'].map((name, i) => ({ name, x: i, y: 2 * i }));
    const picture = cellScatterPicture('Groups', axis, axis, cells, [['a', 'b', 'c']]);
    const joins = picture.series.find((s) => s.draw === 'line');
    expect(joins?.points.map((p) => p.y)).toEqual([0, 2, 4, 0, null]);
    expect(joins?.points[0].name).toBe('a with b, c');
  });
});

describe('the pictures of a record', () => {
  const record = { name: 'T1', timeS: [0, 1800, 3600], voltageV: [3, 3.5, null], currentA: [0, 1, 1] };

  it('share one time axis in a readable unit', () => {
    const pictures = recordPictures([record], [], [], { from: 0, to: 3600 });
    expect(pictures.voltage.x).toEqual(pictures.current.x);
    expect(pictures.voltage.x.unit).toBe('min');
    expect(pictures.voltage.series[0].points).toEqual([
      { x: 0, y: 3 },
      { x: 30, y: 3.5 },
      { x: 60, y: null },
    ]);
    expect(pictures.temperature).toBeNull();
    expect(pictures.residual).toBeNull();
  });

  it('band the steps that are in the window, cut to it, and leave rests white', () => {
    const steps = [
      { index: 0, kind: 'rest', name: 'rest', startTimeS: 0, durationS: 10 },
      { index: 1, kind: 'constant-current', name: 'pulse 1', mark: '1', startTimeS: 10, durationS: 100 },
      { index: 2, kind: 'ramp', name: 'ramp', startTimeS: 500, durationS: 10 },
    ];
    const { voltage } = recordPictures([record], steps, [], { from: 0, to: 60 });
    expect(voltage.areas).toHaveLength(1);
    expect(voltage.areas?.[0]).toMatchObject({
      from: 10,
      to: 60,
      name: 'step 2: pulse 1',
      title: 'pulse 1',
      mark: '1',
    });
  });

  it('give residuals in millivolts about a zero line', () => {
    const fit = { name: 'Fit', timeS: [0, 1], modelV: [3, 3.1], residualV: [0.001, -0.002] };
    const { residual } = recordPictures([record], [], [fit], { from: 0, to: 60 });
    expect(residual?.series[0].points.map((p) => p.y)).toEqual([1, -2]);
    expect(residual?.y.unit).toBe('mV');
    expect(residual?.lines?.[0].at).toBe(0);
  });
});

describe('a fan chart', () => {
  it('draws the widest band first and fills each lower edge up to its upper edge', () => {
    const picture = fanPicture({
      title: 'Fan',
      x: { label: 'Cycle', unit: '' },
      y: axis,
      measured: [
        { x: 0, y: 1 },
        { x: 1, y: 0, excluded: true },
      ],
      model: [{ x: 0, y: 1 }],
      bands: [
        { level: 0.5, x: [2], low: [0.9], high: [1] },
        { level: 0.95, x: [2], low: [0.7], high: [1.1] },
      ],
      thresholds: [{ name: '80 %', at: 0.8 }],
      lastMeasured: 1,
    });
    expect(picture.series.slice(0, 4).map((s) => s.name)).toEqual([
      '95 % interval, upper',
      '95 % interval',
      '50 % interval, upper',
      '50 % interval',
    ]);
    expect(picture.series[3].fillTo).toBe(2);
    expect(picture.series[1].fillTo).toBe(0);
    expect(picture.series.at(-1)?.name).toBe('Left out of the fit');
    expect(picture.lines?.map((l) => l.name)).toEqual(['80 %', 'extrapolation begins']);
  });
});

describe('the other pictures', () => {
  it('give each limit its lane in the order in which the limits first bound', () => {
    const picture = limitTimelinePicture('Limits', [
      { limit: 'cell voltage', fromS: 100, toS: 200 },
      { limit: 'stage current', fromS: 0, toS: 100 },
      { limit: 'cell voltage', fromS: 250, toS: 300 },
    ]);
    expect(picture.y.ticks).toEqual([
      { at: 1, name: 'stage current' },
      { at: 0, name: 'cell voltage' },
    ]);
    expect(picture.areas?.map((a) => [a.from, a.to, a.low])).toEqual([
      [100, 200, -0.35],
      [0, 100, 0.65],
      [250, 300, -0.35],
    ]);
  });

  it('tile a heat map without gaps and show a missing value as a hole', () => {
    const axes = [
      { label: 'SOC', unit: '%' },
      { label: 'T', unit: '°C' },
      { label: 'R0', unit: 'mΩ' },
    ] as const;
    const picture = heatMapPicture('R0', ...axes, [
      { x: 10, y: 25, value: 1 },
      { x: 20, y: 25, value: null },
      { x: 40, y: 25, value: 3 },
    ]);
    expect(picture.areas?.map((a) => [a.from, a.to])).toEqual([
      [5, 15],
      [15, 30],
      [30, 50],
    ]);
    expect(picture.areas?.map((a) => a.strength)).toEqual([0, 0.16, 1]);
    expect(picture.areas?.[1].ramp).toBe(false);
  });

  it('sort the tolerance chart and mark the chosen tolerance', () => {
    const picture = tolerancePicture(
      [
        { factor: 2, pairs: 9 },
        { factor: 0.5, pairs: 3 },
      ],
      10,
    );
    expect(picture.series[0].points.map((p) => p.x)).toEqual([0.5, 2]);
    expect(picture.lines?.map((l) => l.at)).toEqual([1, 10]);
  });
});

describe('an open-circuit curve', () => {
  const curve: OpenCircuitCurve = {
    source: 'slow-average',
    soc: [0, 0.5, 1],
    ocvV: [3, 3.6, 4.1],
    standardUncertaintyV: [0.01, 0.01, 0.01],
    slopeV: [1.5, 1.1, 0.9],
    hysteresisV: [0.06, 0.04, null],
  };
  const named = (picture: Picture, name: string) => picture.series.find((one) => one.name === name);

  it('of a slow discharge and charge is drawn between both, broken where one is missing', () => {
    const picture = openCircuitPicture(curve);
    const heights = (name: string) => named(picture, name)?.points.map(({ y }) => y);
    expect(heights('Slow charge')).toEqual([3.03, 3.62, null]);
    expect(heights('Slow discharge')).toEqual([2.97, 3.58, null]);
    expect(named(picture, 'Slow charge')?.dash).not.toBe(named(picture, 'Slow discharge')?.dash);
  });

  it('of rests has no directions, and its slope is in mV per percent', () => {
    const rests: OpenCircuitCurve = { ...curve, source: 'rests', hysteresisV: [null, null, null] };
    expect(openCircuitPicture(rests).series.map(({ name }) => name)).not.toContain('Slow charge');
    expect(slopePicture(rests).series[0].points.map(({ x, y }) => [x, y])).toEqual([
      [0, 15],
      [50, 11],
      [100, 9],
    ]);
  });
});

describe('a table of charge rates', () => {
  it('never draws a line to a temperature at which not to charge', () => {
    const entry = (temperatureC: number, rateC: number | null, doNotCharge = false) => ({
      temperatureC,
      resistanceGrowth: 0.5,
      rateC,
      doNotCharge,
    });
    const { series } = rateTablePicture({
      entries: [entry(45, 1), entry(-10, 0, true), entry(55, 0, true), entry(0, null)],
    });
    expect(series[0].points).toEqual([
      { x: -10, y: null },
      { x: 0, y: null },
      { x: 45, y: 1 },
      { x: 55, y: null },
    ]);
    expect(series[1]).toMatchObject({ name: 'do not charge', draw: 'points', shape: 'cross' });
    expect(series[1].points.map((p) => p.x)).toEqual([-10, 55]);
  });
});

describe('the name of a limit', () => {
  it('stands where it covers no curve, wherever the curve meets the limit', () => {
    const placeOf = (ys: readonly number[]) => {
      const picture: Picture = {
        title: 'Voltage',
        x: { label: 'Time', unit: 'min' },
        y: { label: 'Voltage', unit: 'V' },
        series: [{ name: 'A', points: ys.map((y, x) => ({ x, y })), draw: 'line', ink: 0, shape: 'none' }],
        lines: [{ axis: 'y', at: 4.2, name: 'limit of each cell', ink: 1 }],
      };
      const { line0 } = annotations(picture, lightPalette);
      return line0.type === 'line' ? line0.label?.position : null;
    };
    const rising = Array.from({ length: 41 }, (_, i) => Math.min(4.2, 3.5 + 0.02 * i));
    expect(placeOf(rising)).toBe('start');
    expect(placeOf(rising.toReversed())).toBe('end');
    expect(placeOf(rising.map((y) => y - 0.5))).toBe('end');
  });
});

describe('a forecast', () => {
  it('ends where it leaves the frame and does not go on along its edge', () => {
    const forecast = [1, 2, 3, 4, 5].map((x) => ({ x, y: Math.min(40, 10 * x + 5) }));
    const { series } = fanPicture({
      title: 'Resistance',
      x: { label: 'Cycle', unit: '' },
      y: { label: 'Resistance', unit: 'mΩ', min: 0, max: 40 },
      measured: [{ x: 0, y: 5 }],
      model: [{ x: 0, y: 5 }],
      bands: [],
      forecast,
      thresholds: [],
      lastMeasured: 0,
    });
    expect(series.find(({ name }) => name === 'Forecast')?.points).toEqual(forecast.slice(0, 4));
  });
});
