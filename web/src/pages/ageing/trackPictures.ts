import type { LotAgeing } from '../../../../server/contract/ageingAssessment.ts';
import type { AgeingLimit } from '../../../../server/contract/ageingResult.ts';
import type { AgeingAxis, AgeingModelResult, AgeingTrack } from '../../../../server/contract/ageingTrack.ts';
import { type FanBand, fanPicture } from '../../charts/fanPicture.ts';
import type { Axis, Picture } from '../../charts/picture.ts';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { say } from '../../words/i18n.ts';
import { limitTitle } from '../../words/quantities.ts';

const axes: Readonly<Record<AgeingAxis, Axis>> = {
  cycle: { label: say('ageing.cycle'), unit: '' },
  'equivalent-full-cycles': { label: say('ageing.equivalentFullCycles'), unit: '' },
  'throughput-ah': { label: say('ageing.chargeThroughput'), unit: 'Ah' },
  days: { label: say('ageing.time'), unit: 'd' },
};

export function axisOf(axis: AgeingAxis): Axis {
  return axes[axis];
}

/** A quantity over life: measured points, the chosen model, the fan of the forecast and the limits. */
export function trackPicture(
  title: string,
  track: AgeingTrack,
  limits: readonly AgeingLimit[],
  units: UnitChoice,
): Picture {
  const { symbol, factor } = displayUnit(track.unit, units);
  const left = new Set(track.series.leftOut.map((p) => p.index));
  const measured = track.series.x.flatMap((x, i) => {
    const value = track.series.value[i];
    return value === null ? [] : [{ x, y: value * factor, excluded: left.has(i) }];
  });
  const curve = track.models.find((m) => m.name === track.chosen)?.curve ?? null;
  return fanPicture({
    title,
    x: axisOf(track.axis),
    y: {
      label: track.quantity === 'capacity' ? say('ageing.capacity') : say('ageing.resistance'),
      unit: symbol,
      ...endOfFan(track, factor),
    },
    measured,
    model: curve === null ? [] : curve.x.map((x, i) => ({ x, y: curve.y[i] * factor })),
    readings: readingBand(curve, factor),
    others: track.published.flatMap(({ law, curve }) =>
      curve === null
        ? []
        : [
            {
              name: say('ageing.publishedLawNamed', { law }),
              points: curve.x.map((x, i) => ({ x, y: curve.y[i] * factor })),
            },
          ],
    ),
    bands: track.fan === null ? [] : bandsOf(track.fan, factor).filter(({ level }) => DRAWN.includes(level)),
    forecast: track.fan === null ? [] : middleOf(track.fan, factor),
    thresholds: limits.flatMap((l) =>
      l.quantity === track.quantity && l.threshold !== null
        ? // The axis says which quantity it is.
          [{ name: limitTitle(l.name, false), at: l.threshold * factor }]
        : [],
    ),
    lastMeasured: track.fan?.extrapolatedFrom ?? null,
  });
}

/**
 * The axis ends a little before the fan and not before the points: past the limit nothing is forecast, the curves of the fan
 * stay at one value there, and along the edge of the picture they would say that the quantity does.
 */
function endOfFan({ fan, quantity, series }: AgeingTrack, factor: number): { min?: number; max?: number } {
  if (fan === null) return {};
  const drawn = fan.quantiles
    .filter(({ probability }) => probability >= 0.1 && probability <= 0.9)
    .flatMap(({ y }) => y);
  const measured = series.value.filter((v) => v !== null);
  const [low, high] = [Math.min(...drawn), Math.max(...drawn)];
  const inside = 0.02 * (high - low);
  return quantity === 'capacity'
    ? { min: factor * Math.min(low + inside, ...measured) }
    : { max: factor * Math.max(high - inside, ...measured) };
}

/** Levels of the bands in the picture: half of such cells, and four in five. */
const DRAWN: readonly number[] = [0.5, 0.8];

/** Where 95 % of single readings about the chosen model lie. */
function readingBand(curve: AgeingModelResult['curve'], factor: number): FanBand | null {
  if (curve === null || curve.band === null) return null;
  const { readingLow, readingHigh } = curve.band;
  return {
    level: 0.95,
    x: curve.x,
    low: readingLow.map((v) => v * factor),
    high: readingHigh.map((v) => v * factor),
  };
}

/** The middle of the fan. */
function middleOf(fan: NonNullable<AgeingTrack['fan']>, factor: number): { x: number; y: number }[] {
  const middle = fan.quantiles.find(({ probability }) => probability === 0.5);
  return middle === undefined ? [] : fan.x.map((x, i) => ({ x, y: middle.y[i] * factor }));
}

/** Quantiles in pairs about the median: 0.1 with 0.9 is the 80 % band. */
export function bandsOf(fan: NonNullable<AgeingTrack['fan']>, factor: number): FanBand[] {
  return fan.quantiles.flatMap((low): FanBand[] => {
    if (low.probability >= 0.5) return [];
    const high = fan.quantiles.find((q) => Math.abs(q.probability - (1 - low.probability)) < 1e-9);
    if (high === undefined) return [];
    return [
      {
        level: Number((1 - 2 * low.probability).toFixed(6)),
        x: fan.x,
        low: low.y.map((v) => v * factor),
        high: high.y.map((v) => v * factor),
      },
    ];
  });
}

const dashes = ['solid', 'dashed', 'dotted', 'long'] as const;

/** So many names find room at the ends of the lines. */
const MOST_NAMES = 12;

/**
 * The cells whose lines carry their names and colours: all of a few; of many the one that is looked at, the first to reach a
 * limit and those that age unlike the lot. The others are drawn pale.
 */
export function namedCells({ cells }: Pick<LotAgeing, 'cells'>, chosen: string | null): string[] {
  if (cells.length <= MOST_NAMES) return cells.map(({ serial }) => serial);
  const first = cells
    .filter(({ earliest }) => earliest.value !== null)
    .toSorted((a, b) => (a.earliest.value ?? 0) - (b.earliest.value ?? 0))
    .slice(0, 1);
  const wanted = [
    ...cells.filter(({ serial }) => serial === chosen),
    ...first,
    ...cells.filter(({ flags }) => flags.length > 0),
  ].map(({ serial }) => serial);
  return [...new Set(wanted)].slice(0, MOST_NAMES);
}

/** The measured series of many cells over each other. */
export function overlayPicture(
  ageing: LotAgeing,
  relative: boolean,
  units: UnitChoice,
  chosen: string | null = null,
): Picture | null {
  const [first] = ageing.cells;
  if (first === undefined) return null;
  const { symbol, factor } = displayUnit(first.unit, units);
  const named = namedCells(ageing, chosen);
  return {
    title: relative ? say('ageing.allCellsRelativeToTheirFirst') : say('ageing.allCells'),
    x: axisOf(ageing.axis),
    y: {
      label: ageing.quantity === 'capacity' ? say('ageing.capacity') : say('ageing.resistance'),
      unit: relative ? '%' : symbol,
    },
    series: ageing.cells.map((cell) => {
      // A reading that is no part of the cell's ageing would be a spike in its line, or the first that all are relative to.
      const left = new Set(cell.leftOut);
      const start = cell.value.find((v, k) => v !== null && v > 0 && !left.has(k)) ?? null;
      const by = relative && start !== null ? 100 / start : factor;
      const place = named.indexOf(cell.serial);
      return {
        name: cell.serial,
        points: cell.x.flatMap((x, k) => {
          const value = cell.value[k];
          return value === null || left.has(k) ? [] : [{ x, y: value * by, name: cell.serial }];
        }),
        draw: 'line',
        shape: 'none',
        ...(place < 0
          ? { ink: 0, width: 0.8, quiet: true, faint: true }
          : {
              ink: place % 8,
              dash: dashes[Math.floor(place / 8) % 4],
              width: 1.4,
              over: named.length < ageing.cells.length,
            }),
      };
    }),
    namesAtEnds: true,
  };
}
