import type { CellTable, CircuitParameter } from '../../../server/contract/cellTables.ts';
import { fixed } from '../format/number.ts';
import { say } from '../words/i18n.ts';
import { plainCode } from '../words/reasons.ts';
import { type HeatField, heatMapPicture } from './heatMap.ts';
import type { Picture, Point, Series } from './picture.ts';

/** The parameter that is drawn, and how its stored values are shown: shown = stored × factor. */
export interface ShownParameter {
  readonly parameter: CircuitParameter;
  readonly label: string;
  readonly symbol: string;
  readonly factor: number;
}

const socAxis = { label: 'SOC', unit: '%', min: 0, max: 100 };
const dashes = ['solid', 'dashed', 'long'] as const;
const shapes = ['circle', 'triangle', 'square', 'diamond', 'cross', 'plus'] as const;

/** `−10 °C`. */
const degrees = (temperatureC: number): string => `${fixed(temperatureC, 1).replace(/[.,]0$/, '')} °C`;

/**
 * One parameter over SOC, a line through the measured values of each temperature. Beyond the first and the last of them the
 * table holds them, which a thin dotted line shows.
 */
export function parameterLinesPicture(table: CellTable, shown: ShownParameter): Picture {
  return {
    title: say('charts.shownLabelOverSOCDirection', {
      shownLabel: shown.label,
      direction: plainCode(table.direction),
    }),
    x: socAxis,
    y: { label: shown.label, unit: shown.symbol },
    series: table.measuredTemperatureC.flatMap((temperatureC, i): Series[] => {
      const points = table.measured
        .filter((one) => one.temperatureC === temperatureC)
        .map((one): Point => ({ x: 100 * one.soc, y: scaled(one.values[shown.parameter], shown) }));
      const name = degrees(temperatureC);
      const line: Series = {
        name,
        points,
        draw: 'line-and-points',
        ink: i,
        shape: shapes[i % shapes.length],
        dash: dashes[i % dashes.length],
      };
      const first = points.at(0);
      const last = points.at(-1);
      const held: Point[] = [
        ...(first === undefined || first.x <= 0 ? [] : [{ x: 0, y: first.y }, first]),
        { x: 50, y: null },
        ...(last === undefined || last.x >= 100 ? [] : [last, { x: 100, y: last.y }]),
      ];
      if (held.every(({ y }) => y === null)) return [line];
      return [
        line,
        {
          name: say('charts.nameNotMeasured', { name }),
          points: held,
          draw: 'line',
          ink: i,
          dash: 'dotted',
          width: 1,
          quiet: true,
        },
      ];
    }),
  };
}

/** One parameter at the measured SOCs and temperatures as a heat map; what was not measured is a hole. */
export function parameterHeatPicture(table: CellTable, shown: ShownParameter): Picture {
  return heatMapPicture(
    say('charts.overSOCAndTemperature', {
      shownLabel: shown.label,
      shownSymbol: shown.symbol === '' ? '' : say('charts.inShownSymbol', { shownSymbol: shown.symbol }),
      direction: plainCode(table.direction),
    }),
    { label: 'SOC', unit: '%' },
    { label: say('charts.temperature'), unit: '°C' },
    { label: shown.label, unit: shown.symbol },
    table.measured.map(
      (one): HeatField => ({
        x: 100 * one.soc,
        y: one.temperatureC,
        value: scaled(one.values[shown.parameter], shown),
      }),
    ),
  );
}

function scaled(value: number | null, { factor }: ShownParameter): number | null {
  return value === null ? null : value * factor;
}
