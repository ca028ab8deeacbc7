import { say } from '../words/i18n.ts';
import type { Area, Axis, Line, Picture, Point, Series } from './picture.ts';

/** One record, reduced to what the screen can show or exact, with times in seconds. */
export interface ShownRecord {
  readonly name: string;
  readonly timeS: readonly number[];
  readonly voltageV: readonly (number | null)[];
  readonly currentA: readonly (number | null)[];
  readonly temperatureC?: readonly (number | null)[] | null;
}

export interface ShownStep {
  readonly index: number;
  /** Code of the kind of step; a rest is not shaded. */
  readonly kind: string;
  /** What it is, in words. */
  readonly name: string;
  /** Stands on the chart where the name has no room. */
  readonly mark?: string;
  readonly startTimeS: number;
  readonly durationS: number;
}

/** A stretch of the record that a model was fitted to, with what the model says there. */
export interface ShownFit {
  readonly name: string;
  readonly timeS: readonly number[];
  readonly modelV: readonly number[];
  readonly residualV: readonly number[];
}

export interface RecordWindow {
  readonly from: number;
  readonly to: number;
}

export interface RecordPictures {
  readonly voltage: Picture;
  readonly current: Picture;
  readonly temperature: Picture | null;
  readonly residual: Picture | null;
}

const dashes = ['solid', 'dashed', 'dotted', 'long'] as const;

/** Which unit of time suits a span: seconds, minutes or hours. */
export function timeUnit(spanS: number): { unit: 's' | 'min' | 'h'; divisor: number } {
  if (spanS <= 600) return { unit: 's', divisor: 1 };
  if (spanS <= 6 * 3600) return { unit: 'min', divisor: 60 };
  return { unit: 'h', divisor: 3600 };
}

/**
 * The pictures of one or several records on one time axis: voltage with step bands and fit, current, temperature where
 * recorded, and the residuals of the fit.
 */
export function recordPictures(
  records: readonly ShownRecord[],
  steps: readonly ShownStep[],
  fits: readonly ShownFit[],
  window: RecordWindow,
): RecordPictures {
  const { unit, divisor } = timeUnit(window.to - window.from);
  const x: Axis = { label: say('charts.time'), unit, min: window.from / divisor, max: window.to / divisor };
  const areas = stepAreas(steps, window, divisor);
  const traces = (pick: (r: ShownRecord) => readonly (number | null)[] | null | undefined, ink: number) =>
    records.flatMap((r, i) => trace(r, pick(r), divisor, ink + (i === 0 ? 0 : i + 2), dashes[i % 4]));
  const fitSeries = fits.map((f) => fitTrace(f.name, f.timeS, f.modelV, divisor, 1));
  const warm = traces((r) => r.temperatureC, 3);
  const residuals = fits.map((f) =>
    fitTrace(
      f.name,
      f.timeS,
      f.residualV.map((v) => v * 1000),
      divisor,
      1,
    ),
  );
  return {
    voltage: {
      title: say('charts.voltage'),
      x,
      y: { label: say('charts.voltage'), unit: 'V' },
      series: [...traces((r) => r.voltageV, 0), ...fitSeries],
      areas,
    },
    current: {
      title: say('charts.currentPositiveOnCharge'),
      x,
      y: { label: say('charts.current'), unit: 'A' },
      series: traces((r) => r.currentA, 2),
      areas,
    },
    temperature:
      warm.length === 0
        ? null
        : {
            title: say('charts.temperature'),
            x,
            y: { label: say('charts.temperature'), unit: '°C' },
            series: warm,
            areas,
          },
    residual:
      residuals.length === 0
        ? null
        : {
            title: say('charts.residualsOfTheFit'),
            x,
            y: { label: say('charts.measuredFitted'), unit: 'mV' },
            series: residuals.map((s) => ({ ...s, draw: 'points' as const, shape: 'circle' as const })),
            areas,
            lines: [zeroLine],
          },
  };
}

const zeroLine: Line = { axis: 'y', at: 0, name: '', ink: 7, dash: 'dotted' };

function trace(
  record: ShownRecord,
  values: readonly (number | null)[] | null | undefined,
  divisor: number,
  ink: number,
  dash: Series['dash'],
): Series[] {
  if (values === null || values === undefined) return [];
  const points: Point[] = new Array(values.length);
  for (let i = 0; i < values.length; i++) points[i] = { x: record.timeS[i] / divisor, y: values[i] };
  return [{ name: record.name, points, draw: 'line', ink, dash, shape: 'none' }];
}

function fitTrace(
  name: string,
  timeS: readonly number[],
  values: readonly number[],
  divisor: number,
  ink: number,
): Series {
  return {
    name,
    points: timeS.map((t, i) => ({ x: t / divisor, y: values[i] })),
    draw: 'line',
    ink,
    dash: 'dashed',
    shape: 'none',
    width: 2,
    over: true,
  };
}

const stepInk: Readonly<Record<string, number>> = {
  rest: 7,
  'constant-current': 0,
  'constant-voltage': 2,
  ramp: 3,
  charge: 2,
  discharge: 0,
};

/** Bands for the steps inside the window; beyond 120 of them they would not be distinguishable and none is drawn. */
function stepAreas(steps: readonly ShownStep[], window: RecordWindow, divisor: number): Area[] {
  const inside = steps.filter(
    (s) => s.startTimeS < window.to && s.startTimeS + s.durationS > window.from && s.kind !== 'rest',
  );
  if (inside.length > 120) return [];
  return inside.map((s) => ({
    from: Math.max(s.startTimeS, window.from) / divisor,
    to: Math.min(s.startTimeS + s.durationS, window.to) / divisor,
    name: say('charts.stepIndexKind', { index: s.index + 1, kind: s.name }),
    title: s.name,
    ...(s.mark === undefined ? {} : { mark: s.mark }),
    ink: stepInk[s.kind] ?? 7,
    strength: 0.11,
  }));
}
