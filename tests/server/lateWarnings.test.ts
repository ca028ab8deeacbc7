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
  afterAll(() => test.close());

  it('keeps the pair from being accepted, and an accepted one from becoming a stack', async () => {
    const { context } = test;
    const { lotId } = await makeMeasuredLot(test);
    const { pairs } = runPairing(context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
    const note = (cellId: number, text: string) =>
      changeCell(context, cellId, findCell(context.store, cellId)?.version ?? 0, { note: text });
    const sign = expect.objectContaining({
      code: 'conflict',
      places: [expect.objectContaining({ reason: 'damage-noted' })],
    });
    const [first, second] = pairs;
    decidePair(context, first.id, first.version, { state: 'accepted', reason: null });
    note(first.cells[0].id, 'dented in transport');
    note(second.cells[1].id, 'swollen');
    expect(() => planStack(context, { pairId: first.id, note: '' })).toThrow(sign);
    expect(() => decidePair(context, second.id, second.version, { state: 'accepted', reason: null })).toThrow(
      sign,
    );
    note(first.cells[0].id, 'looked at: only a scratch of the label');
    expect(planStack(context, { pairId: first.id, note: '' }).state).toBe('planned');
  });
});
