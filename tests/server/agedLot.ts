import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { insertCell } from '../../server/store/cells.ts';
import { insertMeasurements, type NewMeasurement } from '../../server/store/measurements.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { runSql } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';

const at = '2026-02-01T08:00:00.000Z';

/** Lives in cycles of cells of 2 Ah rated: seven that ended at their lives (0.8 of rated), one young, one never measured. */
export const lives: Record<string, number> = {
  a: 80,
  b: 90,
  c: 100,
  d: 110,
  e: 95,
  f: 105,
  g: 85,
  young: 100,
};

/** A lot of cycled cells, two of them in a stack; returns the lot's id and the cells' by serial. */
export async function makeAgedLot(test: TestApp): Promise<{ lotId: number; idOf: Record<string, number> }> {
  const { store } = test.context;
  const {
    lot: { id: lotId },
  } = await makeLot(test.context);
  const idOf: Record<string, number> = {};
  const normal = normalSource(seededRandom(3));
  await store.transaction(async (store) => {
    for (const [serial, life] of Object.entries(lives)) {
      const cellId = await insertCell(store, { lotId, serial, note: '', createdAt: at, sourceFileId: null });
      idOf[serial] = cellId;
      const rows: NewMeasurement[] = [];
      for (let cycle = 1; cycle <= (serial === 'young' ? 70 : life + 8); cycle++) {
        const share = cycle / life;
        const loss = 0.08 * share + (0.12 * (Math.exp(5 * share) - 1)) / (Math.exp(5) - 1);
        rows.push(newMeasurement(cellId, { cycle, value: 2 * (1 - loss) + 6e-4 * normal() }));
        if (cycle % 5 !== 1) continue;
        const pulse = {
          quantity: 'resistance',
          unit: 'Ohm',
          cycle,
          durationS: 10,
          direction: 'discharge',
          soc: 0.5,
        } as const;
        // Measured at 15 °C in turn with 25 °C: only a reduction to one temperature makes one series of them.
        const cold = cycle % 10 === 1;
        const factor = cold ? Math.exp((25000 / 8.314462618) * (1 / 288.15 - 1 / 298.15)) : 1;
        rows.push(
          newMeasurement(cellId, {
            ...pulse,
            temperatureC: cold ? 15 : 25,
            value: 0.03 * (1 + 1.5 * loss) * factor,
          }),
        );
        rows.push(newMeasurement(cellId, { ...pulse, durationS: 1, value: cycle === 1 ? 0.02 : null }));
      }
      await insertMeasurements(store, rows, at);
    }
    idOf.untouched = await insertCell(store, {
      lotId,
      serial: 'untouched',
      note: '',
      createdAt: at,
      sourceFileId: null,
    });
    const stack = (
      await runSql(store, "INSERT INTO Stack (name, state, createdAt) VALUES ('pair a+b', 'built', ?)", at)
    ).id;
    await runSql(store, 'INSERT INTO StackCell (stackId, position, cellId) VALUES (?, 1, ?)', stack, idOf.a);
    await runSql(store, 'INSERT INTO StackCell (stackId, position, cellId) VALUES (?, 2, ?)', stack, idOf.b);
  });
  return { lotId, idOf };
}
