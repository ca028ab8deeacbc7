import { afterAll, beforeAll, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { reevaluateLot } from '../../server/use-cases/evaluation/reevaluateLot.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { runSql, selectOne } from '../support/sql.ts';
import type { TestApp } from '../support/testApp.ts';
import { openTestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let test: TestApp;
let lotId: number;

/** A discharge at 1 A from 4.2 V to 2.4 V in a straight line over 3600 s, so that any cut-off is met at a known time. */
const discharge = `time_s,voltage_V,current_A\n${Array.from({ length: 361 }, (_, i) => `${i * 10},${(4.2 - (1.8 * i) / 360).toFixed(6)},-1`).join('\n')}\n`;

beforeAll(async () => {
  test = await openTestApp();
  lotId = await makeLot(test.context.store, 'L-1');
  const file = { name: 'd.csv', open: async () => bufferSource(Buffer.from(discharge)), rereadable: true };
  await importFile(test.context, file, { lot: 'L-1', cell: 'C-1', testKind: 'capacity' }, 'b');
});
afterAll(async () => test.close());

it('a lot evaluated again lists what changed, old and new side by side, and keeps what was superseded', async () => {
  const first = await reevaluateLot(test.context, lotId, { onlyNotEvaluated: true });
  expect(first).toMatchObject({ evaluated: 1, failed: [], changed: [] });
  const same = await reevaluateLot(test.context, lotId, { onlyNotEvaluated: false });
  expect(same).toMatchObject({ evaluated: 1, changed: [] });
  expect(same.compared).toBeGreaterThan(0);
  // Another cut-off, as another algorithm would, gives another capacity: 1 A down to 3.0 V takes 2400 s, to 2.5 V 3400 s.
  await runSql(test.context.store, 'UPDATE CellType SET dischargeCutoffV = 3.0');
  const { changed } = await reevaluateLot(test.context, lotId, { onlyNotEvaluated: false });
  const capacity = changed.find(({ quantity }) => quantity === 'capacity');
  expect(capacity).toMatchObject({ cellSerial: 'C-1' });
  expect(capacity!.before).toBeCloseTo(3400 / 3600, 6);
  expect(capacity!.after).toBeCloseTo(2400 / 3600, 6);
  const kept = await selectOne<{ n: number }>(
    test.context.store,
    `SELECT COUNT(*) AS n FROM Measurement WHERE quantity = 'capacity' AND supersededAt IS NOT NULL`,
  );
  expect(kept!.n).toBe(2);
});
