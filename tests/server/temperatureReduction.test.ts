import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { StoredPairing } from '../../server/contract/pairings.ts';
import { createPairing } from '../../server/contract/pairings.ts';
import { insertCell } from '../../server/store/cells.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { createLot } from '../../server/use-cases/register/createLot.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
let lotId: number;
let cellTypeId: number;

const GAS_CONSTANT_J_PER_MOL_K = 8.314462618;
/** Factor on a resistance from 25 °C to a temperature at 30 kJ/mol. */
const factorAt = (celsius: number) =>
  Math.exp((30_000 / GAS_CONSTANT_J_PER_MOL_K) * (1 / (celsius + 273.15) - 1 / 298.15));

async function addCell(lot: number, serial: string): Promise<number> {
  const createdAt = test.context.now().toISOString();
  return insertCell(test.context.store, { lotId: lot, serial, note: '', createdAt, sourceFileId: null });
}

async function addResistance(cellId: number, celsius: number, at25Ohm: number): Promise<void> {
  await insertMeasurements(
    test.context.store,
    [
      newMeasurement(cellId, {
        quantity: 'resistance',
        unit: 'Ohm',
        value: at25Ohm * factorAt(celsius),
        standardUncertainty: 1e-5,
        soc: 0.5,
        temperatureC: celsius,
        direction: 'discharge',
        durationS: 10,
      }),
    ],
    test.context.now().toISOString(),
  );
}

const criteria = (temperatureC: number | null) => ({
  features: [
    {
      name: 'resistance',
      quantity: 'resistance' as const,
      column: 'resistance/10s/discharge/soc50/25C',
      condition: { durationS: 10, temperatureC },
      tolerance: { kind: 'percent' as const, value: 5 },
    },
  ],
});

async function pairAt(temperatureC: number | null): Promise<StoredPairing> {
  return runPairing(test.context, createPairing.parse({ lotIds: [lotId], criteria: criteria(temperatureC) }));
}
const ohmOf = (run: StoredPairing, serial: string) =>
  run.result.cells.find(({ cell }) => cell === serial)?.values[0].value;
const warnings = (run: StoredPairing) =>
  run.result.warnings
    .filter(({ code }) => code.endsWith('-temperature'))
    .map(({ code, cells }) => [code, cells]);
const assess = () => request(test.app).post(`/api/v1/cell-types/${cellTypeId}/temperature`);

beforeAll(async () => {
  test = await openTestApp();
  const made = await makeLot(test.context);
  lotId = made.lot.id;
  cellTypeId = made.cellType.id;
  const other = await createLot(test.context, { name: 'study', cellTypeId, receivedOn: null, note: '' });
  for (const [serial, at25Ohm] of [
    ['t1', 0.0201],
    ['t2', 0.0199],
  ] as const) {
    const cellId = await addCell(other.id, serial);
    for (const celsius of [0, 10, 24]) await addResistance(cellId, celsius, at25Ohm);
  }
  for (const [serial, celsius, at25Ohm] of [
    ['a', 22.6, 0.02],
    ['b', 23.6, 0.0202],
    ['c', 25.2, 0.02],
    ['d', 27.4, 0.0202],
  ] as const) {
    await addResistance(await addCell(lotId, serial), celsius, at25Ohm);
  }
});
afterAll(async () => test.close());

describe('a resistance that the criteria ask for at a temperature', () => {
  it('stands as measured, with a warning, where the cell type has no law', async () => {
    const run = await pairAt(25);
    expect(ohmOf(run, 'a')).toBeCloseTo(0.02 * factorAt(22.6), 12);
    expect(warnings(run)).toEqual([['not-at-stated-temperature', ['a', 'b', 'd']]]);
  });

  it('is carried there by the law of the cell type within its measured range, and the pairs follow', async () => {
    expect((await assess()).status).toBe(201);
    // The law reaches to 24 °C and half a degree, so 25.2 and 27.4 °C are beyond it.
    const run = await pairAt(24);
    expect(ohmOf(run, 'a')).toBeCloseTo(0.02 * factorAt(24), 9);
    expect(ohmOf(run, 'b')).toBeCloseTo(0.0202 * factorAt(23.6), 9);
    expect(ohmOf(run, 'd')).toBeCloseTo(0.0202 * factorAt(27.4), 9);
    expect(warnings(run)).toEqual([
      ['reduced-to-temperature', ['a']],
      ['not-at-stated-temperature', ['c', 'd']],
    ]);
    const stored = await request(test.app).get(`/api/v1/pairings/${run.id}`);
    expect(stored.body.result.warnings).toEqual(JSON.parse(JSON.stringify(run.result.warnings)));
  });

  it('pairs cells that differ by their temperature alone once the law covers all of them', async () => {
    const warm = await addCell(
      (await selectOne<{ id: number }>(test.context.store, `SELECT id FROM Lot WHERE name = 'study'`))!.id,
      't3',
    );
    for (const celsius of [0, 40]) await addResistance(warm, celsius, 0.02);
    await assess();
    const plain = await pairAt(null);
    const reduced = await pairAt(25);
    const together = (run: StoredPairing) =>
      run.pairs.map(({ cells }) => cells.map(({ serial }) => serial).join(''));
    expect(warnings(plain)).toEqual([]);
    expect(together(plain)).toEqual(['ab', 'cd']);
    expect(warnings(reduced)).toEqual([['reduced-to-temperature', ['a', 'b', 'd']]]);
    expect(together(reduced)).toEqual(['ac', 'bd']);
    // The cell of the study that reaches 40 °C is not quite like the other two, which moves the law by a few parts in 10⁷.
    expect(ohmOf(reduced, 'a')).toBeCloseTo(0.02, 7);
    const uncertainty = reduced.result.cells.find(({ cell }) => cell === 'd')?.values[0].standardUncertainty;
    expect(uncertainty).toBeGreaterThan(1e-5 / factorAt(27.4) - 1e-12);
  });
});
