import { parseCriteria } from '../../server/assess/pairing/pairingChecks.ts';
import type { PairingCriteriaInput } from '../../server/contract/pairingCriteria.ts';
import { insertMeasurements, type NewMeasurement } from '../../server/store/measurements.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import type { TestApp } from '../support/testApp.ts';

/** A cell of the made lot: capacity in Ah and resistance after 10 s in ohm. */
export type MadeCell = readonly [
  serial: string,
  capacityAh: number | null,
  resistanceOhm: number | null,
  note?: string,
];

/** Two tight pairs, a loose one, and a cell of its own. */
export const usualCells: readonly MadeCell[] = [
  ['a', 2.5, 0.02],
  ['b', 2.501, 0.0201],
  ['c', 2.55, 0.022],
  ['d', 2.551, 0.0221],
  ['e', 2.45, 0.018],
  ['f', 2.46, 0.0182],
  ['g', 2.3, 0.03],
];

/** A lot with measured cells, as if they had been imported; returns the lot's id and the cells' by serial. */
export async function makeMeasuredLot(
  test: TestApp,
  cells: readonly MadeCell[] = usualCells,
  name = 'lot A',
): Promise<{ lotId: number; idOf: Record<string, number> }> {
  const { lot } = await makeLot(test.context, { lot: name });
  const idOf: Record<string, number> = {};
  for (const [serial, capacityAh, resistanceOhm, note] of cells) {
    const cell = await createCell(test.context, { lotId: lot.id, serial, note: note ?? '' });
    idOf[serial] = cell.id;
    const plain = newMeasurement(cell.id, {
      value: capacityAh,
      standardUncertainty: 0.004,
      reason: null,
      temperatureC: 25,
    });
    const rows: NewMeasurement[] = [];
    if (capacityAh !== null) rows.push(plain);
    if (resistanceOhm !== null)
      rows.push({
        ...plain,
        quantity: 'resistance',
        value: resistanceOhm,
        unit: 'Ohm',
        standardUncertainty: 0.0001,
        soc: 0.5,
        direction: 'charge',
        durationS: 10,
      });
    await insertMeasurements(test.context.store, rows, '2026-02-01T08:00:00.000Z');
  }
  return { lotId: lot.id, idOf };
}

/** Capacity within 1 % and resistance within 1 mohm, by their usual columns. */
export function usualCriteria(change: Partial<PairingCriteriaInput> = {}) {
  return parseCriteria({
    name: 'fast charging',
    features: [
      { name: 'capacity', quantity: 'capacity', tolerance: { kind: 'percent', value: 1 } },
      { name: 'R(10 s)', quantity: 'resistance', tolerance: { kind: 'absolute', value: 0.001 } },
    ],
    use: { chargeCurrentA: 4 },
    ...change,
  });
}
