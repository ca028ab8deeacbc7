import type { EvaluatedSweep, Sweep } from '../../../../server/contract/impedance.ts';
import type { Axis, Line, Picture, Point, Series, Shape } from '../../charts/picture.ts';
import { percent, significant } from '../../format/number.ts';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { say } from '../../words/i18n.ts';

/** A spectrum to draw, with its evaluation where it has one. */
export interface ShownSweep {
  readonly sweep: Sweep;
  readonly evaluated: EvaluatedSweep | null;
}

export interface SpectrumPictures {
  readonly plane: Picture;
  readonly magnitude: Picture;
  readonly phase: Picture;
  /** Null where no circuit was taken. */
  readonly circuitResidual: Picture | null;
  /** Null where no sweep was checked. */
  readonly consistencyResidual: Picture | null;
}

const shapes: readonly Shape[] = ['circle', 'triangle', 'square', 'diamond', 'cross', 'plus'];
const oneKilohertz: Line = { axis: 'x', at: 1000, name: '1 kHz', ink: 7, dash: 'dotted' };
const degrees = 180 / Math.PI;

/** Frequencies with a name at each decade that the spectra reach. */
function frequencyAxis(shown: readonly ShownSweep[]): Axis {
  const logs = shown.flatMap(({ sweep }) => sweep.frequencyHz.map(Math.log10));
  const first = Math.ceil(Math.min(...logs, 3));
  const last = Math.floor(Math.max(...logs, 3));
  const ticks = Array.from({ length: last - first + 1 }, (_, i) => {
    const at = Number(`1e${first + i}`);
    return { at, name: String(at) };
  });
  return { label: say('test.frequency'), unit: 'Hz', scale: 'logarithmic', ticks };
}

/** What a sweep is called: by its state of charge where that is known, else by its label. */
export function sweepName({ sweep, evaluated }: ShownSweep): string {
  const soc = evaluated?.soc ?? sweep.soc;
  return soc === null
    ? say('test.sweepSweepLabel', { sweepLabel: sweep.label })
    : `${sweep.label}, ${percent(soc, 0)} SOC`;
}

/**
 * One or several spectra: −Z″ against Z′ with equal scales and the capacitive part upward, as electrochemistry draws it
 * (common practice), magnitude and phase over frequency, the circuit over the points, and the residuals of the circuit
 * and of the Kramers–Kronig check.
 */
export function spectrumPictures(shown: readonly ShownSweep[], units: UnitChoice): SpectrumPictures {
  const { symbol, factor } = displayUnit('Ohm', units);
  return {
    plane: plane(shown, symbol, factor),
    magnitude: overFrequency(
      shown,
      say('test.magnitudeOverFrequency'),
      { label: '|Z|', unit: symbol },
      (re, im) => Math.hypot(re, im) * factor,
    ),
    phase: overFrequency(
      shown,
      say('test.phaseOverFrequency'),
      { label: say('test.phase'), unit: '°' },
      (re, im) => Math.atan2(im, re) * degrees,
    ),
    circuitResidual: residuals(
      shown,
      say('test.residualsOfTheCircuit'),
      (s) => [s.curve.circuitRealResidual, s.curve.circuitImaginaryResidual],
      () => null,
    ),
    consistencyResidual: residuals(
      shown,
      say('test.residualsOfTheKramersKronigCheck'),
      (s) => [s.curve.consistencyRealResidual, s.curve.consistencyImaginaryResidual],
      (s) => s.consistency.limit,
    ),
  };
}

function plane(shown: readonly ShownSweep[], symbol: string, factor: number): Picture {
  const series = shown.flatMap((one, k): Series[] => {
    const { sweep, evaluated } = one;
    const name = sweepName(one);
    const points = sweep.frequencyHz.map(
      (f, i): Point => ({
        x: sweep.realOhm[i] * factor,
        y: -sweep.imaginaryOhm[i] * factor,
        name: `${name}: ${significant(f, 4)} Hz`,
      }),
    );
    const curve = evaluated?.curve;
    const fit: Point[] | undefined = curve?.circuitRealOhm?.map((real, i) => ({
      x: real * factor,
      y: -(curve.circuitImaginaryOhm?.[i] ?? Number.NaN) * factor,
      name: say('test.circuitHz', { name, frequencyHz: significant(curve.frequencyHz[i], 4) }),
    }));
    return [
      { name, points, draw: 'points', ink: k, shape: shapes[k % shapes.length] },
      ...(fit === undefined ? [] : [circuitLine(name, fit, k)]),
      ...markOf(one, k, factor),
    ];
  });
  return {
    title: say('test.impedancePlane'),
    x: { label: 'Z′', unit: symbol },
    y: { label: '−Z″', unit: symbol },
    equalScales: true,
    series,
  };
}

/** The interpolated value at 1 kHz, larger than the points it lies among. */
function markOf(one: ShownSweep, k: number, factor: number): Series[] {
  const at = one.evaluated?.at1kHz;
  if (at === undefined || at.realOhm === null || at.imaginaryOhm === null) return [];
  const name = `${sweepName(one)}: 1 kHz`;
  return [
    {
      name,
      points: [{ x: at.realOhm * factor, y: -at.imaginaryOhm * factor, name }],
      draw: 'points',
      ink: 7,
      shape: shapes[(k + 3) % shapes.length],
      quiet: k > 0,
    },
  ];
}

function circuitLine(name: string, points: readonly Point[], ink: number): Series {
  return {
    name: say('test.nameCircuit', { name }),
    points,
    draw: 'line',
    ink,
    dash: 'dashed',
    shape: 'none',
    width: 2,
    // One entry of the legend says for all what dashes mean.
    quiet: ink > 0,
  };
}

function overFrequency(
  shown: readonly ShownSweep[],
  title: string,
  y: Axis,
  of: (realOhm: number, imaginaryOhm: number) => number,
): Picture {
  const series = shown.flatMap((one, k): Series[] => {
    const { sweep, evaluated } = one;
    const name = sweepName(one);
    const order = [...sweep.frequencyHz.keys()].sort((a, b) => sweep.frequencyHz[b] - sweep.frequencyHz[a]);
    const measured: Series = {
      name,
      points: order.map((i) => ({
        x: sweep.frequencyHz[i],
        y: of(sweep.realOhm[i], sweep.imaginaryOhm[i]),
      })),
      draw: 'points',
      ink: k,
      shape: shapes[k % shapes.length],
    };
    const curve = evaluated?.curve;
    const { circuitRealOhm: real, circuitImaginaryOhm: imaginary } = curve ?? {};
    if (curve === undefined || !real || !imaginary) return [measured];
    const fit = curve.frequencyHz.map((f, i) => ({ x: f, y: of(real[i], imaginary[i]) }));
    return [measured, circuitLine(name, fit, k)];
  });
  return { title, x: frequencyAxis(shown), y, series, lines: [oneKilohertz] };
}

function residuals(
  shown: readonly ShownSweep[],
  title: string,
  pick: (evaluated: EvaluatedSweep) => readonly [readonly number[] | null, readonly number[] | null],
  limitOf: (evaluated: EvaluatedSweep) => number | null,
): Picture | null {
  const series: Series[] = [];
  let limit: number | null = null;
  for (const [k, one] of shown.entries()) {
    if (one.evaluated === null) continue;
    const { frequencyHz } = one.evaluated.curve;
    const [real, imaginary] = pick(one.evaluated);
    if (real === null || imaginary === null) continue;
    limit ??= limitOf(one.evaluated);
    const points = (values: readonly number[]) => values.map((v, i) => ({ x: frequencyHz[i], y: 100 * v }));
    const name = sweepName(one);
    series.push(
      { name: `${name}: Z′`, points: points(real), draw: 'line-and-points', ink: k, shape: 'circle' },
      {
        name: `${name}: Z″`,
        points: points(imaginary),
        draw: 'line-and-points',
        ink: k,
        shape: 'triangle',
        dash: 'dashed',
      },
    );
  }
  if (series.length === 0) return null;
  const zero: Line = { axis: 'y', at: 0, name: '', ink: 7, dash: 'dotted' };
  const limits =
    limit === null
      ? []
      : [1, -1].map((sign): Line => ({ axis: 'y', at: sign * 100 * (limit ?? 0), name: '', ink: 1 }));
  return {
    title,
    x: frequencyAxis(shown),
    y: { label: say('test.measuredModel'), unit: say('test.ofZ') },
    series,
    lines: [zero, ...limits],
  };
}
