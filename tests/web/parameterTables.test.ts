import { describe, expect, it } from 'vitest';
import { type CellTable, circuitParameter } from '../../server/contract/cellTables.ts';
import { parameterHeatPicture, parameterLinesPicture } from '../../web/src/charts/parameterTables.ts';

type Flag = CellTable['rows'][number]['values']['r0Ohm']['flag'];

function rowOf(
  temperatureC: number,
  soc: number,
  value: number | null,
  flag: Flag,
): CellTable['rows'][number] {
  const values = Object.fromEntries(circuitParameter.options.map((name) => [name, { value, flag }]));
  return { temperatureC, soc, values: values as CellTable['rows'][number]['values'] };
}

const table: CellTable = {
  direction: 'discharge',
  measuredSoc: [0.25, 0.75],
  measuredTemperatureC: [0, 25],
  origins: [],
  rows: [
    rowOf(0, 0, 0.04, 'outside-soc'),
    rowOf(0, 0.5, 0.03, 'inside'),
    rowOf(0, 1, null, 'hole'),
    rowOf(25, 0, 0.02, 'outside-soc'),
    rowOf(25, 0.5, 0.015, 'inside'),
    rowOf(25, 1, 0.012, 'outside-soc'),
  ],
};
const shown = { parameter: 'r0Ohm', label: 'R0', symbol: 'mΩ', factor: 1000 } as const;

describe('a table of a parameter', () => {
  it('is drawn as a line for each temperature, dotted where it was not measured', () => {
    const { series, x, y } = parameterLinesPicture(table, shown);
    expect([x.unit, y.unit]).toEqual(['%', 'mΩ']);
    expect(series.map(({ name, dash }) => [name, dash])).toEqual([
      ['0 °C', 'solid'],
      ['0 °C, not measured', 'dotted'],
      ['25 °C', 'dashed'],
      ['25 °C, not measured', 'dotted'],
    ]);
    expect(series[2].points.map((point) => [point.x, point.y])).toEqual([
      [0, null],
      [50, 15],
      [100, null],
    ]);
    expect(series[3].points.map((point) => point.y)).toEqual([20, 15, 12]);
    expect(series[1].points.map((point) => point.y)).toEqual([40, 30, null]);
  });

  it('is drawn as a heat map whose fields outside what was measured stay empty', () => {
    const { areas } = parameterHeatPicture(table, shown);
    expect(areas?.map(({ value }) => value)).toEqual([null, 30, null, null, 15, null]);
  });
});
