import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { type ChargeStudyDescription, chargeStudyDescription } from '../../server/contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../../server/contract/chargeStudyResult.ts';
import { chargeProfile } from '../../server/export/chargeProfile.ts';
import { ExportRefused } from '../../server/export/refusal.ts';

const cell = {
  name: 'a',
  capacityAh: 2,
  soc: [0, 1],
  ocvV: [3, 4.2],
  r0Ohm: 0.02,
  startSoc: 0.1,
  datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 4 },
};
const description: ChargeStudyDescription = chargeStudyDescription.parse({
  schemaVersion: 1,
  cells: [cell, { ...cell, name: 'b', datasheet: { maxVoltageV: 4.15, maxChargeCurrentA: 4 } }],
  stack: { ambientTemperatureC: 25, cellVoltageLimitV: 4.18 },
  phases: { stages: [{ currentA: 2 }] },
  temperatureZones: [
    { fromC: 0, toC: 45, maxCurrentA: 4 },
    { fromC: 45, toC: 60, maxCellVoltageV: 4.1 },
  ],
});

const columns = (socs: number[], temperatures: number[]) => ({
  voltageV: socs.map((z) => 3 + 1.2 * z),
  currentA: socs.map(() => 2),
  soc: socs,
  temperatureC: temperatures,
});

function result(bus: boolean): ChargeStudyResult {
  const series = {
    timeS: [0, 60, 120, 180],
    currentA: [2, 2, 2, 1],
    stackVoltageV: [6.3, 6.5, 6.7, 6.8],
    busVoltageV: bus ? [13, 13.2, 13.4, 13.5] : null,
    busCurrentA: bus ? [1, 1, 1, 0.5] : null,
    cells: [
      columns([0.1, 0.115, 0.131, 0.14], [25, 30, 46, 46]),
      columns([0.12, 0.14, 0.16, 0.17], [25, 30, 31, 31]),
    ],
  };
  // Only name and series matter for a profile.
  return { name: 'Plan, "A"', series } as ChargeStudyResult;
}

function read(text: string): Record<string, string>[] {
  return parse(text, { columns: true, record_delimiter: '\r\n' }) as Record<string, string>[];
}

describe('the charge profile', () => {
  it('gives bus, stack and cell values against time', () => {
    const rows = read(chargeProfile(description, result(true)));
    expect(rows).toHaveLength(4);
    expect(rows[1]).toMatchObject({
      time_s: '60',
      soc: '0.115',
      bus_voltage_V: '13.2',
      bus_current_A: '1',
      stack_voltage_V: '6.5',
      stack_current_A: '2',
      cell_2_soc: '0.14',
    });
  });

  it('limits each cell by the lowest of datasheet, stack and temperature zone', () => {
    const rows = read(chargeProfile(description, result(true)));
    expect(rows.map((row) => row.cell_1_voltage_limit_V)).toEqual(['4.18', '4.18', '4.1', '4.1']);
    expect(rows.map((row) => row.cell_2_voltage_limit_V)).toEqual(['4.15', '4.15', '4.15', '4.15']);
  });

  it('gives a row for each percent of the least charged cell, interpolated, with both ends', () => {
    const rows = read(chargeProfile(description, result(true), 'soc'));
    expect(rows.map((row) => Number(Number(row.soc).toFixed(9)))).toEqual([0.1, 0.11, 0.12, 0.13, 0.14]);
    expect(Number(rows[1].time_s)).toBeCloseTo(40, 9);
    expect(Number(rows[3].bus_voltage_V)).toBeCloseTo(13.2 + (0.2 * (0.13 - 0.115)) / (0.131 - 0.115), 9);
  });

  it('leaves the bus empty where no source is described', () => {
    expect(read(chargeProfile(description, result(false)))[0]).toMatchObject({
      bus_voltage_V: '',
      bus_current_A: '',
    });
  });

  it('is refused for a study without a series, naming what to ask for', () => {
    const without = { ...result(true), series: null };
    expect(() => chargeProfile(description, without)).toThrow(ExportRefused);
    expect(() => chargeProfile(description, without)).toThrow('run the study with seriesStepS');
  });
});
