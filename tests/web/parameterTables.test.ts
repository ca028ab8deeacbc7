import { describe, expect, it } from 'vitest';
import { type CellTable, circuitParameter } from '../../server/contract/cellTables.ts';
import { parameterHeatPicture, parameterLinesPicture } from '../../web/src/charts/parameterTables.ts';
import { pictureTable } from '../../web/src/charts/pictureTable.ts';

function measuredAt(temperatureC: number, soc: number, value: number | null): CellTable['measured'][number] {
  const values = Object.fromEntries(circuitParameter.options.map((name) => [name, value]));
  return { temperatureC, soc, values: values as CellTable['measured'][number]['values'] };
}

const table: CellTable = {
  direction: 'discharge',
  measuredSoc: [0.25, 0.75],
  measuredTemperatureC: [-10, 10, 25],
  measured: [
    measuredAt(-10, 0.25, null),
    measuredAt(-10, 0.75, 0.03),
    measuredAt(10, 0.25, 0.024),
    measuredAt(10, 0.75, 0.02),
    measuredAt(25, 0.25, 0.015),
    measuredAt(25, 0.75, 0.012),
  ],
  origins: [],
  rows: [],
};
const shown = { parameter: 'r0Ohm', label: 'R0', symbol: 'mΩ', factor: 1000 } as const;

describe('a table of a parameter', () => {
  it('is drawn as a line for each temperature with a shape of its own, points only where it was measured', () => {
    const { series, x, y } = parameterLinesPicture(table, shown);
    expect([x.unit, y.unit]).toEqual(['%', 'mΩ']);
    expect(series.map(({ name, dash, shape }) => [name, dash, shape])).toEqual([
      ['−10 °C', 'solid', 'circle'],
      ['−10 °C, not measured', 'dotted', undefined],
      ['10 °C', 'dashed', 'triangle'],
      ['10 °C, not measured', 'dotted', undefined],
      ['25 °C', 'long', 'square'],
      ['25 °C, not measured', 'dotted', undefined],
    ]);
    expect(series[0].points).toEqual([
      { x: 25, y: null },
      { x: 75, y: 30 },
    ]);
    expect(series[1].points.map((point) => point.y)).toEqual([null, null, null, 30, 30]);
    expect(series[3].points).toEqual([
      { x: 0, y: 24 },
      { x: 25, y: 24 },
      { x: 50, y: null },
      { x: 75, y: 20 },
      { x: 100, y: 20 },
    ]);
  });

  it('is drawn as a heat map whose holes are neither a value nor a colour of the ramp', () => {
    const { areas } = parameterHeatPicture(table, shown);
    expect(areas?.map(({ value }) => value)).toEqual([null, 30, 24, 20, 15, 12]);
    expect(areas?.map(({ ramp }) => ramp)).toEqual([false, true, true, true, true, true]);
    expect(areas?.[1].strength).toBe(1);
    expect(areas?.[5].strength).toBe(0);
  });

  it('is read from the heat map as rows of SOC, temperature and value with their units, on an uneven grid too', () => {
    expect(pictureTable(parameterHeatPicture(table, shown))).toEqual({
      columns: ['SOC, %', 'Temperature, °C', 'R0, mΩ'],
      rows: [
        [25, -10, null],
        [75, -10, 30],
        [25, 10, 24],
        [75, 10, 20],
        [25, 25, 15],
        [75, 25, 12],
      ],
    });
  });
});
