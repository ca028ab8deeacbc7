import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { logStudy, stackLogRows, stackLogText, usualBench, usualTruth } from '../../support/stackLog.ts';
import { chromiumPath, openBrowser, openPage, seriousFindings, settled } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

describe.skipIf(withoutBrowser)('a measured charge on the pages', () => {
  let service: RunningService;
  let browser: Browser;
  let stack: { id: number; name: string };
  beforeAll(async () => {
    service = await startService({ demonstration: true });
    const stacks = await ask<{ items: (typeof stack)[] }>(service.address, '/stacks');
    stack = stacks.items[0];
    await ask(service.address, '/charge-studies', {
      name: 'bench study',
      stackId: stack.id,
      description: { ...logStudy(), converter: undefined },
    });
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('goes from the file over columns, comparison and fit to parameters, the life of its stack and a report', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'light');
    const text = stackLogText(
      stackLogRows(usualTruth, usualBench(31)),
      'Time (s),V cell 1 (V),V cell 2 (V),I stack (A),V stack (V),Feed (V),I in (A)',
    );
    await page.goto('/import');
    await page.setInputFiles('input[type=file]', {
      name: 'bench-charge.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(text),
    });
    const card = page.getByRole('region', { name: 'bench-charge.csv' });
    await card.getByText('Change how this file is read').click();
    // A name that says nothing to the reader is assigned; the others are shown as they were found.
    const feed = card.getByLabel('Column of the bus voltage');
    expect(await feed.inputValue()).toBe('');
    expect(await card.getByLabel('Column of the stack current').inputValue()).toBe('I stack (A)');
    await feed.selectOption('Feed (V)');
    await card.getByLabel('Stack that the log is of').selectOption(stack.name);
    await card.getByLabel('Cycles it had behind it').fill('120');
    await settled(page);
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await card.getByText('● imported').waitFor({ timeout: 30_000 });
    await card.getByRole('link', { name: 'Look at the measured charge' }).click();

    await page.getByLabel('Compare with').selectOption('bench study');
    await page.getByRole('button', { name: 'Compare and fit' }).click();
    const verdict = page.getByText(/^Charged .* than computed|^Charged in the computed time/).first();
    await verdict.waitFor({ timeout: 120_000 });
    await settled(page);
    // The picture comes first, then the verdict in a sentence, then the tables.
    const top = async (what: ReturnType<typeof page.locator>) => (await what.boundingBox())?.y ?? Number.NaN;
    const picture = await top(page.locator('figure').first());
    const table = await top(page.getByRole('table').first());
    expect(picture).toBeLessThan(await top(verdict));
    expect(await top(verdict)).toBeLessThan(table);
    expect(await page.getByText(/R0 of B \+2\d\.\d %/).count()).toBeGreaterThan(0);
    expect(await seriousFindings(page)).toEqual([]);

    // A log tells R0 and branches together better than either: a table of its own, at three durations for each cell.
    await page.getByRole('checkbox', { name: 'RC branches', exact: true }).check();
    await page.getByRole('button', { name: 'Compare and fit' }).click();
    const together = page.getByRole('region', { name: /^R0 and branches/ });
    await together.waitFor({ timeout: 120_000 });
    await settled(page);
    const ofB = (await together.getByRole('row').allInnerTexts()).filter((text) => /(^|\t)B\t/.test(text));
    expect(ofB).toHaveLength(3);
    expect(await seriousFindings(page)).toEqual([]);

    await page.getByRole('checkbox', { name: 'capacity of A' }).check();
    await page.getByRole('checkbox', { name: 'connections of the stack' }).check();
    await page.getByRole('button', { name: 'Take over' }).click();
    await page.getByText(/^Taken over: studies drafted/).waitFor();

    await page.getByRole('link', { name: 'Report', exact: true }).click();
    await page
      .getByText(/R0 of B \+2\d\.\d %/)
      .first()
      .waitFor();
    await settled(page);
    expect(await page.getByRole('table').count()).toBeGreaterThan(3);
    await page.goto(`/stacks/${stack.id}`);
    await page.getByRole('region', { name: 'The stack over its life' }).waitFor();
    await page
      .getByRole('link', { name: /bench-charge\.csv/ })
      .first()
      .waitFor();
    expect(trouble.found).toEqual([]);
    await page.context().close();
  }, 240_000);

  it('takes operating points of a converter from a table and shows its efficiency with the points', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'light');
    await page.goto('/supply-parts');
    await page.getByLabel(/^Name/).fill('bench converter');
    await page.getByLabel(/Highest output current of a path/).fill('6');
    await page.setInputFiles('input[type=file]', {
      name: 'Punkte.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(
        'Ausgangsspannung (V);Ausgangsstrom (A);Eingangsspannung (V);Eingangsstrom (A)\n8,1;2;16,248;1,025\n8,1;6;16,344;3,025\n',
      ),
    });
    const points = page.getByLabel('Measured operating points, all paths together');
    await expect.poll(() => points.inputValue()).toMatch(/^8\.10000 2\.00000 16\.24800 1\.02500\n/);
    await page.getByRole('button', { name: 'Keep', exact: true }).click();
    await page.getByText(/12\.0 mΩ \(\d/).waitFor();
    await page.getByText('Efficiency of bench converter').first().waitFor();
    await settled(page);
    expect(await seriousFindings(page)).toEqual([]);
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });
});
