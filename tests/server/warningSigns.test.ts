import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { findWarningSigns } from '../../server/use-cases/register/findWarningSigns.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('a note on a cell', () => {
  let test: TestApp;
  let lotId: number;
  beforeAll(async () => {
    test = await openTestApp();
    lotId = (await makeLot(test.context)).lot.id;
  });
  afterAll(async () => test.close());

  it.each([
    ['dented at one edge', true],
    ['Pouch slightly swollen', true],
    ['dropped from the bench', true],
    ['short-circuited for a moment', true],
    ['rust on the can', true],
    ['burn-in of 3 cycles done', false],
    ['IR drop as the others', false],
    ['identical to the sample', false],
    ['', false],
  ])('that says "%s" keeps the cell from being paired: %s', async (note, kept) => {
    const { id } = await createCell(test.context, { lotId, serial: `C ${note}`, note });
    const signs = (await findWarningSigns(test.context, lotId)).filter(({ cellId }) => cellId === id);
    expect(signs.map(({ code }) => code)).toEqual(kept ? ['damage-noted'] : []);
  });
});
