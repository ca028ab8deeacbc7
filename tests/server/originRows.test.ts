import { afterAll, beforeAll, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { readParameters } from '../../server/use-cases/parameters/readParameters.ts';
import { traceMeasurement } from '../../server/use-cases/parameters/traceMeasurement.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
  await makeLot(test.context.store, 'L-1');
});
afterAll(() => test.close());

/** Two discharge pulses of 20 s after rests of 5 min, below a preamble of three lines. */
function record(): { text: string; pulses: { first: number; last: number }[] } {
  const lines = ['Tester: bench 4', 'Operator: A', 'Room: 25', 'time_s,voltage_V,current_A'];
  const pulses: { first: number; last: number }[] = [];
  let timeS = 0;
  let slow = 0;
  const row = (currentA: number) => {
    slow += ((0.015 * currentA - slow) * 1) / 12;
    const ripple = 2e-5 * Math.sin(12.9898 * timeS);
    lines.push(`${timeS},${(3.75 + 0.02 * currentA + slow + ripple).toFixed(5)},${currentA}`);
    timeS += 1;
  };
  for (let n = 0; n < 2; n++) {
    for (let i = 0; i < 300; i++) row(0);
    const first = lines.length + 1;
    for (let i = 0; i < 20; i++) row(-2);
    pulses.push({ first, last: lines.length });
  }
  for (let i = 0; i < 300; i++) row(0);
  return { text: `${lines.join('\n')}\n`, pulses };
}

it('the origin of a resistance is the rows of its pulse, counted as lines of the file, as its export counts them', async () => {
  const { text, pulses } = record();
  const file = { name: 'pulses.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true };
  await importFile(test.context, file, { lot: 'L-1', cell: 'O-1', testKind: 'pulse' }, 'b');
  const { store } = test.context;
  const { id, cellId } = (await selectOne<{ id: number; cellId: number }>(
    store,
    'SELECT id, cellId FROM Test',
  ))!;
  await evaluateTest(test.context, id, { startSoc: 0.5 });
  const kept = await selectAll<{ id: number }>(
    store,
    `SELECT id FROM Measurement WHERE quantity = 'resistance' AND durationS = 10 ORDER BY id`,
  );
  expect(kept).toHaveLength(2);
  const { cells } = await readParameters(test.context, 'cell', cellId);
  for (const [n, { id: measurementId }] of kept.entries()) {
    const { sourceFile, measurement } = await traceMeasurement(test.context, measurementId);
    expect(sourceFile?.firstRow).toBe(pulses[n].first);
    expect(sourceFile?.lastRow).toBe(pulses[n].last);
    const exported = cells[0].measurements.find((one) => one.id === measurement.id);
    expect(exported?.fileRow).toBe(pulses[n].first);
  }
});
