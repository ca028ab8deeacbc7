import { readFileSync } from 'node:fs';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Measurement } from '../../server/contract/measurements.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(async () => test.close());

async function take(lot: string, bytes: Buffer, cell: string): Promise<Measurement[]> {
  const file = { name: `${cell}.csv`, open: async () => bufferSource(bytes), rereadable: true };
  const report = await importFile(test.context, file, { lot, cell, testKind: 'pulse' }, 'b');
  expect(report).toMatchObject({ state: 'taken', kind: 'step-table' });
  const stored = await selectOne<{ id: number }>(
    test.context.store,
    'SELECT id FROM Cell WHERE serial = ?',
    cell,
  );
  const found: Measurement[] = [];
  let cursor = '';
  do {
    const page = await request(test.app).get(
      `/api/v1/cells/${stored?.id}/measurements?limit=500&quantity=resistance${cursor}`,
    );
    expect(page.status).toBe(200);
    found.push(...page.body.items);
    cursor = page.body.nextCursor === null ? '' : `&cursor=${encodeURIComponent(page.body.nextCursor)}`;
  } while (cursor !== '');
  return found;
}

/** A log that charges a 2 Ah cell full, discharges it empty, charges half of it and pulses; the last pulse is short. */
const head =
  'step_number,mode,start_time_s,duration_s,start_voltage_V,end_voltage_V,start_current_A,end_current_A,charge_capacity_Ah,discharge_capacity_Ah,start_temperature_C';
function log(): Buffer {
  const rows: (string | number)[][] = [];
  let clockS = 0;
  const add = (mode: string, durationS: number, from: number, to: number, amps: number, ah: number) => {
    rows.push([
      rows.length + 1,
      mode,
      clockS,
      durationS,
      from,
      to,
      amps,
      amps,
      Math.max(0, ah),
      Math.max(0, -ah),
      25.4,
    ]);
    clockS += durationS + 0.2;
  };
  add('rest', 60, 3.6, 3.6, 0, 0);
  add('discharge_cc', 5, 3.55, 3.54, -1, -1 / 720);
  add('charge_cccv', 3000, 3.7, 4.2, 2, 1);
  add('rest', 600, 4.18, 4.17, 0, 0);
  add('discharge_cc', 3600, 4.1, 2.5, -2, -2);
  add('rest', 600, 2.9, 3.1, 0, 0);
  add('charge_cc', 1800, 3.4, 3.8, 2, 1);
  for (const durationS of [5, 5, 5, 3.2]) {
    add('rest', 60, 3.72, 3.7, 0, 0);
    add('charge_cc', durationS, 3.74, 3.75, 2, 0);
    add('rest', 60, 3.72, 3.7, 0, 0);
    add('discharge_cc', 5, 3.66, 3.64, -2, 0);
  }
  return Buffer.from(`${head}\n${rows.map((row) => row.join(',')).join('\n')}\n`);
}

describe('the pulses of a step table', () => {
  it('become resistances with their duration, direction, temperature, row and, once the log reaches empty, their SOC', async () => {
    await makeLot(test.context, { lot: 'steps' });
    const found = await take('steps', log(), 'S-1');
    // The pulse before the log reached full or empty has no state of charge: |3.54 - 3.6| V / 1 A.
    expect(found[0]).toMatchObject({ direction: 'discharge', durationS: 5, soc: null, sourceRow: 3 });
    expect(found[0].value).toBeCloseTo(0.06, 12);
    const rest = found.slice(1);
    expect(rest).toHaveLength(8);
    for (const one of rest) {
      expect(one.soc).toBeCloseTo(0.5, 12);
      expect(one.temperatureC).toBe(25.4);
      expect(one.testId).not.toBeNull();
      expect(one.value).toBeCloseTo(one.direction === 'charge' ? 0.05 / 2 : 0.06 / 2, 12);
      expect(one).toMatchObject({ standardUncertainty: null, reason: 'uncertainty-not-stated' });
    }
    const origin = await request(test.app).get(`/api/v1/measurements/${found[0].id}/origin`);
    expect(origin.body).toMatchObject({ sourceFile: { name: 'S-1.csv' }, test: { kind: 'pulse' } });
  });

  it('that were ended early stand at the time they lasted', async () => {
    const cell = await selectOne<{ id: number }>(
      test.context.store,
      `SELECT id FROM Cell WHERE serial = 'S-1'`,
    );
    const { body } = await request(test.app).get(
      `/api/v1/cells/${cell?.id}/measurements?quantity=resistance`,
    );
    const early = (body.items as Measurement[]).filter((one) => one.durationS === 3.2);
    expect(early).toHaveLength(1);
    expect(early[0]).toMatchObject({ direction: 'charge' });
    expect(early[0].method).toContain('ended before its 5 s');
  });
});

// S. Tao et al., PulseBat data set, Nature Communications (2024), doi:10.1038/s41467-024-54454-0
const folder = 'datasets/pulsebat-retired';
describe.skipIf(sharedIsMissing(folder))('the step log of a retired cell of 10 Ah', () => {
  it('gives ten pulse widths of both signs at eleven states of charge, and early pulses of their own duration', async () => {
    await makeLot(test.context, {
      lot: 'retired',
      cellType: { ratedCapacityAh: 10, dischargeCutoffV: 2, chargeVoltageLimitV: 4.2 },
    });
    const found = await take('retired', readFileSync(sharedPath(`${folder}/steps_lmo10_b2.csv`)), 'LMO-2');
    expect(found.length).toBeGreaterThanOrEqual(1090);
    // The source counts its levels in the nominal 10 Ah; here they are in parts of what the cell still gives.
    const capacity = await selectOne<{ value: number }>(
      test.context.store,
      `SELECT m.value FROM Measurement m JOIN Cell c ON c.id = m.cellId
       WHERE c.serial = 'LMO-2' AND m.quantity = 'capacity' AND m.excludedReason IS NULL`,
    );
    const ownAh = capacity?.value ?? Number.NaN;
    expect(ownAh).toBeGreaterThan(5);
    expect(ownAh).toBeLessThan(7);
    const nominal = (one: Measurement) => ((one.soc as number) * ownAh) / 10;
    expect(Math.max(...found.map((one) => one.soc ?? 0))).toBeGreaterThan(0.8);
    const widths = [0.03, 0.05, 0.07, 0.1, 0.3, 0.5, 0.7, 1, 3, 5];
    for (const direction of ['charge', 'discharge'] as const) {
      for (const width of widths) {
        const alike = found.filter((one) => one.direction === direction && one.durationS === width);
        const levels = new Set(alike.map((one) => Math.round(nominal(one) * 20)));
        expect(Math.min(...levels)).toBe(1);
        expect(Math.max(...levels)).toBeLessThanOrEqual(11);
        expect(levels.size, `${direction}, ${width} s`).toBeGreaterThanOrEqual(
          direction === 'charge' ? 9 : 11,
        );
      }
    }
    const early = found.filter((one) => one.method.includes('that a voltage limit ended'));
    expect(early).toHaveLength(35);
    for (const one of early) {
      expect(one.direction).toBe('charge');
      expect(nominal(one)).toBeGreaterThan(0.44);
      expect(widths).not.toContain(one.durationS);
    }
  });
});
