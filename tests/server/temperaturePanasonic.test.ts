import { readFileSync } from 'node:fs';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CellTable } from '../../server/contract/cellTables.ts';
import type { TemperatureLaw } from '../../server/contract/temperature.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const folder = 'datasets/panasonic-18650pf';

// P. Kollmeyer, "Panasonic 18650PF Li-ion Battery Data", Mendeley Data V1 (2018), doi:10.17632/wykht8y7tg.1
describe.skipIf(sharedIsMissing(folder))('a 2.9 Ah cell tested at 25, 10 and −10 °C', () => {
  let test: TestApp;
  let cellTypeId: number;
  beforeAll(async () => {
    test = await openTestApp();
    const made = await makeLot(test.context, { lot: 'P', cellType: { ratedCapacityAh: 2.9 } });
    cellTypeId = made.cellType.id;
    for (const [name, temperatureC] of [
      ['25degC', 25],
      ['10degC', 10],
      ['n10degC', -10],
    ] as const) {
      const bytes = readFileSync(sharedPath(`${folder}/hppc_${name}.csv`));
      const file = { name: `${name}.csv`, open: async () => bufferSource(bytes), rereadable: true };
      const options = { lot: 'P', cell: '1', testKind: 'pulse' as const, temperatureC };
      const report = await importFile(test.context, file, options, 'b');
      expect(report.refusal).toBeNull();
      const path = `/api/v1/tests/${report.runs[0].testId}/evaluate`;
      expect((await request(test.app).post(path).send({ startSoc: 1 })).status).toBe(200);
    }
  }, 60_000);
  afterAll(async () => test.close());

  it('has an activation energy of its 10 s resistance within the usual band for pulses', async () => {
    const { body, status } = await request(test.app).post(`/api/v1/cell-types/${cellTypeId}/temperature`);
    expect(status).toBe(201);
    const laws: TemperatureLaw[] = body.dependence.laws;
    const law = laws.find(({ key }) => key === 'resistance/10s/discharge/soc50');
    expect(law).toMatchObject({ readings: 3, cells: 1, basis: 'same-cells', fallsThroughout: true });
    // 20 to 40 kJ/mol for pulse resistance: common practice, from memory; the source's 37.3 and 129.8 mΩ give 23.
    expect(law?.activationJPerMol).toBeGreaterThan(18_000);
    expect(law?.activationJPerMol).toBeLessThan(40_000);
    expect(law?.activationStandardErrorJPerMol).toBeGreaterThan(100);
  });

  it('has a table of three temperatures in which R0 rises towards the cold at every measured state of charge', async () => {
    const { body } = await request(test.app).get('/api/v1/cells/1/tables');
    const table: CellTable = body.tables.find((one: CellTable) => one.direction === 'discharge');
    expect(table.measuredTemperatureC).toHaveLength(3);
    const [coldest, middle, warmest] = table.measuredTemperatureC;
    const at = (celsius: number, soc: number) =>
      table.rows.find((row) => row.temperatureC === celsius && Math.abs(row.soc - soc) < 1e-9)?.values.r0Ohm;
    for (const soc of [0.4, 0.5, 0.6, 0.7, 0.8]) {
      const values = [coldest, middle, warmest].map((celsius) => at(celsius, soc));
      expect(values.map((one) => one?.flag)).toEqual(['inside', 'inside', 'inside']);
      const [cold, mild, warm] = values.map((one) => one?.value as number);
      expect(cold).toBeGreaterThan(mild);
      expect(mild).toBeGreaterThan(warm);
    }
  });
});
