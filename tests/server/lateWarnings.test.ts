import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findCell } from '../../server/store/cells.ts';
import { decidePair } from '../../server/use-cases/pairing/decidePair.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { changeCell } from '../../server/use-cases/register/changeCell.ts';
import { planStack } from '../../server/use-cases/stacks/planStack.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeMeasuredLot, usualCriteria } from './pairedLot.ts';

describe('a warning sign that comes after the run', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(async () => test.close());

  it('keeps the pair from being accepted, and an accepted one from becoming a stack', async () => {
    const { context } = test;
    const { lotId } = await makeMeasuredLot(test);
    const { pairs } = await runPairing(context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
    const note = async (cellId: number, text: string) =>
      changeCell(context, cellId, (await findCell(context.store, cellId))?.version ?? 0, { note: text });
    const sign = expect.objectContaining({
      code: 'conflict',
      places: [expect.objectContaining({ reason: 'damage-noted' })],
    });
    const [first, second] = pairs;
    await decidePair(context, first.id, first.version, { state: 'accepted', reason: null });
    await note(first.cells[0].id, 'dented in transport');
    await note(second.cells[1].id, 'swollen');
    await expect(async () => planStack(context, { pairId: first.id, note: '' })).rejects.toThrow(sign);
    await expect(async () =>
      decidePair(context, second.id, second.version, { state: 'accepted', reason: null }),
    ).rejects.toThrow(sign);
    await note(first.cells[0].id, 'looked at: only a scratch of the label');
    expect((await planStack(context, { pairId: first.id, note: '' })).state).toBe('planned');
  });
});
