import { describe, expect, it } from 'vitest';
import type { StoredPairing } from '../../../server/contract/pairings.ts';
import { seriousFindings } from './browser.ts';
import { addLot } from './firstSteps.ts';
import { openForTests, withoutBrowser } from './opening.ts';

/** Four groups of three about 40 mAh and 0.4 mΩ apart, in mixed order, and one cell more. */
const table = [
  'serial,capacity (Ah),ACIR 1 kHz (mOhm)',
  ...Array.from({ length: 13 }, (_, i) => {
    const within = Math.floor(i / 4);
    const capacity = 3 + 0.04 * (i % 4) + 0.0015 * within;
    const ohm = 13.4 + 0.4 * (i % 4) + 0.03 * within;
    return `N-${String(i + 1).padStart(2, '0')},${capacity.toFixed(4)},${ohm.toFixed(2)}`;
  }),
].join('\n');

describe.skipIf(withoutBrowser)('three cells in series, from a cell table to the built stack', () => {
  const at = openForTests({ demonstration: false });
  let id = '';

  it('are asked for with the criteria, counted, and found with the distance from the best', async () => {
    const { page } = at;
    await page.goto('/import');
    await addLot(page, { type: 'P3', ratedAh: '3', limitV: '4.2', cutoffV: '2.5', lot: 'delivery' });
    const buffer = Buffer.from(table);
    await page.setInputFiles('input[type=file]', { name: 'cells.csv', mimeType: 'text/csv', buffer });
    await page.getByText('○ ready').waitFor();
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();
    await page.goto('/pairings/new?lots=1');
    await page
      .getByRole('status')
      .getByText(/at most \d+ pairs at once/)
      .waitFor();
    await page.getByLabel('Cells in series').selectOption('3');
    await page
      .getByRole('status')
      .getByText(/no more than \d+ groups at once/)
      .waitFor();
    await page.getByRole('button', { name: 'Find groups' }).click();
    await page.waitForURL(/\/pairings\/\d+$/);
    id = page.url().split('/').at(-1) ?? '';
    const answer = page.locator('p.answer');
    await answer.getByText(/^\d+ groups from \d+ cells, not proven best/).waitFor();
    const { result, pairs } = await at.get<StoredPairing>(`/pairings/${id}`);
    expect(pairs.map(({ cells }) => cells.length)).toEqual([3, 3, 3, 3]);
    expect(result.unpaired).toHaveLength(1);
    const { lowerBound } = result.certificate;
    const gap = (100 * (result.totalCost - (lowerBound ?? 0))) / result.totalCost;
    const said = Number(/total cost by ([\d.]+) % at most/.exec((await answer.textContent()) ?? '')?.[1]);
    expect(Math.abs(said - gap)).toBeLessThan(1);
    expect(await page.getByText('Proven best.', { exact: true }).count()).toBe(0);
  });

  it('show their members and why they go together, and exchange a cell and back', async () => {
    const { page } = at;
    const { pairs } = await at.get<StoredPairing>(`/pairings/${id}`);
    const [first, second] = pairs;
    const names = first.cells.map(({ serial }) => serial);
    const row = page.getByRole('row').filter({ hasText: names.join(' + ') });
    await row.getByRole('button', { name: names.join(' + '), exact: true }).click();
    const details = page.getByRole('region', { name: `Group ${names.join(' + ')}` });
    for (const name of names) await details.getByRole('columnheader', { name }).waitFor();
    await page.getByText(`${names[0]}, ${names[1]} and ${names[2]} go together`).waitFor();
    expect(await seriousFindings(page)).toEqual([]);

    await row.getByRole('button', { name: 'Exchange…' }).click();
    await page.getByLabel('Cell to exchange').selectOption(String(first.cells[1].id));
    await page.getByLabel('Exchange with the cell').selectOption(`${second.id}/${second.cells[2].id}`);
    await page.getByRole('button', { name: 'Exchange', exact: true }).click();
    await page.getByText('(exchanged by hand)').first().waitFor();
    const serials = ({ cells }: { cells: readonly { serial: string }[] }) => cells.map((c) => c.serial);
    const now = await at.get<StoredPairing>(`/pairings/${id}`);
    expect(serials(now.pairs[0])).toEqual([names[0], second.cells[2].serial, names[2]]);
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByText('(exchanged by hand)').first().waitFor({ state: 'detached' });
    const back = await at.get<StoredPairing>(`/pairings/${id}`);
    expect(back.pairs.map(serials)).toEqual(pairs.map(serials));
  });

  it('are accepted, become a stack that is built, and its label and traveller name all three', async () => {
    const { page } = at;
    const { pairs } = await at.get<StoredPairing>(`/pairings/${id}`);
    const names = pairs[0].cells.map(({ serial }) => serial);
    const row = page.getByRole('row').filter({ hasText: names.join(' + ') });
    await row.getByRole('button', { name: `Accept ${names.join(' + ')}` }).click();
    await page.getByRole('button', { name: 'Plan 1 stack' }).click();
    await row.getByRole('link', { name: 'to the stack', exact: true }).click();
    await page.getByRole('heading', { level: 1 }).getByText(names.join(' + ')).waitFor();
    for (const name of names) await page.getByRole('link', { name }).first().waitFor();
    await page.getByRole('button', { name: 'Mark as built…' }).click();
    await page.getByRole('button', { name: 'Built', exact: true }).click();
    await page.getByText(/is built\./).waitFor();
    await page.emulateMedia({ media: 'print' });
    await page.getByRole('heading', { name: /: traveller$/ }).waitFor();
    const printed = (await page.locator('body').allInnerTexts()).join();
    for (const name of names) expect(printed.split(name).length).toBeGreaterThan(2);
    await page.emulateMedia({ media: 'screen' });
    const { pairs: after } = await at.get<StoredPairing>(`/pairings/${id}`);
    expect(after[0].state).toBe('built');
    expect(await seriousFindings(page)).toEqual([]);
    expect(at.trouble.found).toEqual([]);
  });
});
