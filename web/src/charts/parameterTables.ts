import type { CellTable, CircuitParameter } from '../../../server/contract/cellTables.ts';
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

interface TablePoint extends Point {
  readonly inside: boolean;
}

/**
 * One parameter over SOC, a line for each temperature. Where the table holds the nearest measured value, a thin dotted line
 * goes on from the measured part.
 */
export function parameterLinesPicture(table: CellTable, shown: ShownParameter): Picture {
  const temperatures = [...new Set(table.rows.map((row) => row.temperatureC))];
  return {
    title: `${shown.label} over SOC, ${table.direction}`,
    x: socAxis,
    y: { label: shown.label, unit: shown.symbol },
    series: temperatures.flatMap((temperatureC, i): Series[] => {
      const points = table.rows
        .filter((row) => row.temperatureC === temperatureC)
        .map((row): TablePoint => {
          const { value, flag } = row.values[shown.parameter];
          return {
            x: 100 * row.soc,
            y: value === null ? null : value * shown.factor,
            inside: flag === 'inside',
          };
        });
      const name = `${Number(temperatureC.toFixed(1))} °C`;
      const measured = points.map((point) => ({ x: point.x, y: point.inside ? point.y : null }));
      const held = points.map((point, k) => {
        const joins = !point.inside || points[k - 1]?.inside === false || points[k + 1]?.inside === false;
        return { x: point.x, y: joins ? point.y : null };
      });
      const line: Series = {
        name,
        points: measured,
        draw: 'line-and-points',
        ink: i,
        dash: dashes[i % dashes.length],
      };
      const outside = points.some((point) => !point.inside && point.y !== null);
      const rest: Series = {
        name: `${name}, not measured`,
        points: held,
        draw: 'line',
        ink: i,
        dash: 'dotted',
        width: 1,
        quiet: true,
      };
      return outside ? [line, rest] : [line];
    }),
  };
}

/** One parameter over SOC and temperature as a heat map; fields outside what was measured stay empty. */
export function parameterHeatPicture(table: CellTable, shown: ShownParameter): Picture {
  const fields = table.rows.map((row): HeatField => {
    const { value, flag } = row.values[shown.parameter];
    return {
      x: 100 * row.soc,
      y: row.temperatureC,
      value: value === null || flag !== 'inside' ? null : value * shown.factor,
    };
  });
  return heatMapPicture(
    `${shown.label} (${shown.symbol}) over SOC and temperature, ${table.direction}`,
    { label: 'SOC', unit: '%' },
    { label: 'Temperature', unit: '°C' },
    fields,
  );
}
