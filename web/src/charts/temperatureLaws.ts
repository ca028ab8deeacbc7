import type { TemperatureLaw } from '../../../server/contract/temperature.ts';
import { displayUnit, type UnitChoice } from '../settings/units.ts';
import { say } from '../words/i18n.ts';
import { quantityTitle } from '../words/quantities.ts';
import type { Picture, Point, Series, Shape } from './picture.ts';

const shapes = ['circle', 'square', 'triangle', 'diamond'] as const satisfies readonly Shape[];
const dashes = ['solid', 'dashed', 'long', 'dotted'] as const;

/** As many laws can be distinguished at a glance; each has a shape, a dash and an ink of its own. */
export const mostLawsDrawn = shapes.length;

const ZERO_CELSIUS_K = 273.15;
/** Number of straight pieces that draw the curve of a law. */
const pieces = 40;
/** What a band reaches to, in standard errors. */
const bandReach = 2;
/** How far the axis goes on beyond what was measured, so that the end of it is seen. */
const marginC = 4;

interface LawAt {
  readonly ohm: number;
  /** Standard error of the law there as a fraction; null where it is not known. */
  readonly relativeError: number | null;
}

/**
 * A law at a temperature: ln R = ln R_ref + (Ea/R)·(1/T − 1/T_ref), with the variance of that straight line from the
 * covariance of its two parameters.
 */
export function lawAt(law: TemperatureLaw, temperatureC: number): LawAt {
  const x = 1 / (temperatureC + ZERO_CELSIUS_K) - 1 / (law.referenceC + ZERO_CELSIUS_K);
  const perKelvin = law.activationJPerMol / 8.314462618;
  const covariance = law.covariance;
  return {
    ohm: law.referenceOhm * Math.exp(perKelvin * x),
    relativeError:
      covariance === null
        ? null
        : Math.sqrt(Math.max(0, covariance[0][0] + 2 * x * covariance[0][1] + x * x * covariance[1][1])),
  };
}

/**
 * The measured means as points, each law as a curve over the temperatures that were measured and not beyond, its band of two
 * standard errors, and the reference temperature. Where one law is drawn the measured range is shaded.
 */
export function temperatureLawsPicture(laws: readonly TemperatureLaw[], units: UnitChoice): Picture {
  const drawn = laws.slice(0, mostLawsDrawn);
  const { factor, symbol } = displayUnit('Ohm', units);
  const lowest = Math.min(...drawn.map((law) => law.lowestC));
  const highest = Math.max(...drawn.map((law) => law.highestC));
  const references = [...new Set(drawn.map((law) => law.referenceC))];
  const series: Series[] = [];
  for (const [i, law] of drawn.entries()) series.push(...seriesOf(law, i, factor, series.length));
  return {
    title: say('charts.resistanceOverTemperature'),
    x: {
      label: say('charts.temperature'),
      unit: '°C',
      min: Math.floor(Math.min(lowest, ...references) - marginC),
      max: Math.ceil(Math.max(highest, ...references) + marginC),
    },
    y: { label: say('charts.resistance'), unit: symbol },
    series,
    areas: drawn.length === 1 ? [{ from: lowest, to: highest, ink: 7, strength: 0.06 }] : [],
    lines: references.map((at) => ({
      axis: 'x',
      at,
      name: say('charts.referenceAtC', { at }),
      ink: 7,
      dash: 'dotted',
    })),
  };
}

function seriesOf(law: TemperatureLaw, i: number, factor: number, firstIndex: number): Series[] {
  const name = quantityTitle(law);
  const grid = Array.from(
    { length: pieces + 1 },
    (_, k) => law.lowestC + (k / pieces) * (law.highestC - law.lowestC),
  );
  const curve = (at: (law: LawAt) => number | null): Point[] =>
    grid.map((x) => {
      const ohm = at(lawAt(law, x));
      return { x, y: ohm === null ? null : ohm * factor };
    });
  const edge = (sign: 1 | -1): Point[] =>
    curve(({ ohm, relativeError: e }) => (e === null ? null : ohm * Math.exp(sign * bandReach * e)));
  const plain = { draw: 'line', ink: i, shape: 'none' } as const;
  const dash = dashes[i];
  const band: Series[] =
    law.covariance === null
      ? []
      : [
          {
            ...plain,
            name: say('charts.nameLaw2StandardErrors', { name }),
            points: edge(1),
            width: 0,
            quiet: true,
          },
          {
            ...plain,
            name: say('charts.nameLaw2StandardErrors2', { name }),
            points: edge(-1),
            width: 0,
            quiet: true,
            fillTo: firstIndex,
            fillStrength: 0.2,
          },
        ];
  const reading = (of: 'readingLow' | 'readingHigh'): Point[] =>
    law.band.map((point) => ({ x: point.temperatureC, y: point[of] * factor }));
  const further: Series[] =
    law.band.length === 0
      ? []
      : [
          {
            ...plain,
            name: say('charts.readingOfFurtherCellUpper', { name }),
            points: reading('readingHigh'),
            width: 0.75,
            dash: 'dotted',
            quiet: true,
          },
          {
            ...plain,
            name: say('charts.readingOfFurtherCellLower', { name }),
            points: reading('readingLow'),
            width: 0.75,
            dash: 'dotted',
            quiet: true,
          },
        ];
  return [
    ...band,
    ...further,
    {
      ...plain,
      name: say('charts.nameLaw', { name }),
      points: curve(({ ohm }) => ohm),
      dash,
      width: 2,
      quiet: true,
    },
    {
      name,
      points: law.points.map((p) => ({ x: p.temperatureC, y: p.meanOhm * factor })),
      draw: 'points',
      ink: i,
      shape: shapes[i],
    },
  ];
}

const quantityOrder = ['resistance', 'r0', 'rdc', 'impedance-1khz'];

/** Laws in the order in which they are looked for: quantity, direction, SOC nearest to the reference, duration nearest to 10 s. */
export function orderedLaws(laws: readonly TemperatureLaw[], referenceSoc: number): TemperatureLaw[] {
  const rank = (law: TemperatureLaw): number[] => [
    Math.abs((law.soc ?? referenceSoc) - referenceSoc),
    law.direction === 'discharge' ? 0 : 1,
    quantityOrder.indexOf(law.quantity),
    Math.abs(Math.log10((law.durationS ?? 10) / 10)),
    law.soc ?? 0,
  ];
  return [...laws].sort((a, b) => {
    const [left, right] = [rank(a), rank(b)];
    const place = left.findIndex((value, i) => Math.abs(value - right[i]) > 1e-9);
    return place < 0 ? 0 : left[place] - right[place];
  });
}
