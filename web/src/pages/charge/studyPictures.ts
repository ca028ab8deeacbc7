import type {
  ChargeStudyResult,
  SimulatedChargeResult,
} from '../../../../server/contract/chargeStudyResult.ts';
import { limitTimelinePicture } from '../../charts/limitTimeline.ts';
import type { Axis, Picture, Series } from '../../charts/picture.ts';
import { timeUnit } from '../../charts/recordPictures.ts';
import { limitWords } from '../../words/charge.ts';
import { say } from '../../words/i18n.ts';

const dashes = ['solid', 'dashed', 'dotted', 'long'] as const;
const shapes = ['circle', 'square', 'triangle', 'diamond'] as const;

export interface NamedCharge {
  readonly name: string;
  readonly result: SimulatedChargeResult;
}

interface Drawn {
  readonly x: Axis;
  readonly line: (name: string, timeS: readonly number[], values: readonly number[], place: Place) => Series;
}

interface Place {
  readonly ink: number;
  readonly study: number;
}

function drawing(charges: readonly NamedCharge[]): Drawn {
  const end = Math.max(1, ...charges.map((c) => c.result.endTimeS));
  const { unit, divisor } = timeUnit(end);
  return {
    x: { label: say('charge.time'), unit, min: 0, max: end / divisor },
    line: (name, timeS, values, { ink, study }) => ({
      name,
      points: timeS.map((t, i) => ({ x: t / divisor, y: values[i] })),
      draw: 'line',
      ink,
      dash: dashes[study % 4],
      shape: 'none',
      width: 1.8,
    }),
  };
}

type CellColumn = 'voltageV' | 'currentA' | 'soc' | 'temperatureC';

/** One column of every cell of up to four studies: colour by cell, dashes by study. */
export function cellPicture(
  title: string,
  y: Axis,
  charges: readonly NamedCharge[],
  column: CellColumn,
  by = 1,
  limits: readonly { readonly name: string; readonly at: number }[] = [],
): Picture {
  const { x, line } = drawing(charges);
  const several = charges.length > 1;
  return {
    title,
    x,
    y,
    series: charges.flatMap(({ name, result }, study) =>
      (result.series?.cells ?? []).map((cell, i) =>
        line(
          several ? `${name}: ${result.cells[i].name}` : result.cells[i].name,
          result.series?.timeS ?? [],
          cell[column].map((v) => v * by),
          { ink: i === 0 ? study * 2 : study * 2 + 1, study },
        ),
      ),
    ),
    lines: limits.map((l) => ({ axis: 'y', at: l.at, name: l.name, ink: 1, dash: 'dashed' })),
  };
}

/** Stack current and voltage, and the bus values where a source is described. */
export function stackPictures(charges: readonly NamedCharge[]): Picture[] {
  const { x, line } = drawing(charges);
  const label = (name: string, what: string) => (charges.length > 1 ? `${name}: ${what}` : what);
  const currents = charges.flatMap(({ name, result }, study) => {
    const s = result.series;
    if (s === null) return [];
    const stack = line(label(name, 'stack'), s.timeS, s.currentA, { ink: study * 2, study });
    return s.busCurrentA === null
      ? [stack]
      : [stack, line(label(name, 'bus'), s.timeS, s.busCurrentA, { ink: study * 2 + 1, study })];
  });
  const voltages = charges.flatMap(({ name, result }, study) => {
    const s = result.series;
    if (s === null) return [];
    const stack = line(label(name, 'stack'), s.timeS, s.stackVoltageV, { ink: study * 2, study });
    return s.busVoltageV === null
      ? [stack]
      : [stack, line(label(name, 'bus'), s.timeS, s.busVoltageV, { ink: study * 2 + 1, study })];
  });
  return [
    {
      title: say('charge.currentPositiveOnCharge'),
      x,
      y: { label: say('charge.current'), unit: 'A' },
      series: currents,
    },
    {
      title: say('charge.voltageOfTheWhole'),
      x,
      y: { label: say('charge.voltage'), unit: 'V' },
      series: voltages,
    },
  ];
}

/** Which limit bound when. */
export function boundPicture(result: SimulatedChargeResult): Picture {
  return limitTimelinePicture(
    say('charge.whatLimitedTheCurrentAndWhen'),
    result.limits.map((l) => ({
      limit:
        l.cell === null || result.cells[l.cell] === undefined
          ? limitWords[l.limit]
          : `${limitWords[l.limit]} (${result.cells[l.cell].name})`,
      fromS: l.startTimeS,
      toS: l.endTimeS,
    })),
  );
}

type RateSearch = NonNullable<ChargeStudyResult['rateSearch']>;
type RatePoint = RateSearch['tradeOff'][number];

/** The rate against one thing it costs or gains; rates that break a limit have a shape of their own. */
export function tradeOffPicture(
  title: string,
  y: Axis,
  search: RateSearch,
  pick: (point: RatePoint) => number | null,
): Picture {
  const points = (feasible: boolean) =>
    search.tradeOff.flatMap((p) => {
      const value = pick(p);
      return value === null || p.feasible !== feasible ? [] : [{ x: p.rateC, y: value }];
    });
  return {
    title,
    x: { label: say('charge.chargeRate'), unit: 'C' },
    y,
    series: [
      {
        name: say('charge.keepsEveryLimit'),
        points: points(true),
        draw: 'line-and-points',
        ink: 0,
        shape: 'circle',
      },
      { name: say('charge.breaksALimit'), points: points(false), draw: 'points', ink: 1, shape: 'cross' },
    ],
    lines:
      search.rateC === null
        ? []
        : [{ axis: 'x', at: search.rateC, name: say('charge.highestThatKeepsAll'), ink: 7, dash: 'dotted' }],
  };
}

/** A table of rates: of a study, of a cell type or of a chemistry. */
interface RateTable {
  readonly entries: readonly {
    readonly temperatureC: number;
    readonly resistanceGrowth: number;
    readonly rateC: number | null;
    /** Absent: where there is no rate. */
    readonly doNotCharge?: boolean;
  }[];
}

/**
 * Recommended rate over temperature, one line per resistance growth. A line never leads to a temperature at which not to
 * charge: those stand apart as crosses.
 */
export function rateTablePicture(table: RateTable): Picture {
  const growths = [...new Set(table.entries.map((e) => e.resistanceGrowth))].sort((a, b) => a - b);
  const sorted = [...table.entries].sort((a, b) => a.temperatureC - b.temperatureC);
  const named = (growth: number) =>
    growth === 0 ? say('charge.new') : say('charge.resistanceGrowth', { growth: Math.round(growth * 100) });
  const refused = sorted.filter((e) => e.doNotCharge ?? e.rateC === null);
  const series: Series[] = growths.map((growth, i) => ({
    name: named(growth),
    points: sorted
      .filter((e) => e.resistanceGrowth === growth)
      .map((e) => ({ x: e.temperatureC, y: e.rateC === 0 ? null : e.rateC })),
    draw: 'line-and-points',
    ink: i,
    shape: shapes[i % 4],
    dash: dashes[i % 4],
  }));
  if (refused.length > 0) {
    series.push({
      name: say('charge.doNotCharge'),
      points: refused.map((e) => ({ x: e.temperatureC, y: 0, name: named(e.resistanceGrowth) })),
      draw: 'points',
      ink: 7,
      shape: 'cross',
    });
  }
  return {
    title: say('charge.recommendedRateOverTemperature'),
    x: { label: say('charge.temperatureAtTheStart'), unit: '°C' },
    y: { label: say('charge.chargeRate'), unit: 'C', min: 0 },
    series,
  };
}
