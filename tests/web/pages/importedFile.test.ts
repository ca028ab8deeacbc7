import { statSync } from 'node:fs';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing, sharedIsMissing, sharedPath } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, seriousFindings, settled } from './browser.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');
const record = 'datasets/panasonic-18650pf/hppc_25degC.csv';

describe.skipIf(withoutBrowser || sharedIsMissing(record))('a first-time user with a real file', () => {
  let service: RunningService;
  let browser: Browser;
  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('on a phone in the dark comes from an empty notebook to resistances, as each page says what is next', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'phone', 'dark');
    await page.goto('/');
    await page.getByRole('heading', { name: 'Start with your files' }).waitFor();
    await page.getByRole('main').getByRole('link', { name: 'Import files' }).click();

    // No lot and no cell type yet: the page asks for them in their order.
    await addLot(page, {
      type: 'NCR18650PF',
      ratedAh: '2.9',
      limitV: '4.2',
      cutoffV: '2.5',
      lot: 'Bench cells',
    });

    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Kind of test').selectOption('pulse');
    await page.setInputFiles('input[type=file]', sharedPath(record));
    await page.getByText('this file does not name its cell').waitFor();
    await page.getByLabel('Serial of the cell of this file').fill('PF-1');
    await page.getByLabel('Serial of the cell of this file').press('Enter');
    await page.getByText('Creates the cell PF-1').waitFor();
    expect(await seriousFindings(page)).toEqual([]);
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();

    await page.getByRole('link', { name: 'Next: the lot Bench cells' }).click();
    await page.getByRole('button', { name: 'Evaluate now' }).click();
    await page.getByText(/Evaluating the lot: done/).waitFor({ timeout: 30_000 });
    await page.getByRole('link', { name: '1 test' }).click();
    await page.getByRole('link', { name: /pulse test/ }).click();
    await settled(page);
    await page.getByRole('button', { name: 'Show pulse 1 in the record' }).click();
    await page.getByText('Residuals of the fit').waitFor();
    expect(new URL(page.url()).searchParams.get('pulse')).toBe('0');
    expect(await page.getByRole('button', { name: /^Show pulse \d+ in the record$/ }).count()).toBe(67);
    expect(await seriousFindings(page)).toEqual([]);

    // The way ends with a file in the hand: the lot with what was found, for another program.
    await page.getByRole('link', { name: 'PF-1' }).first().click();
    await page.getByRole('heading', { name: 'PF-1', exact: true }).waitFor();
    await page.getByRole('link', { name: 'Bench cells' }).first().click();
    await page.getByRole('link', { name: 'Export the lot' }).click();
    await page.getByText('Parameters (JSON)').first().waitFor();
    await settled(page);
    expect(await seriousFindings(page)).toEqual([]);
    const file = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Export', exact: true }).click();
    expect(statSync(await (await file).path()).size).toBeGreaterThan(1000);
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });

  it('reads why the same file is refused the second time', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'light');
    await page.goto('/import?lot=Bench+cells');
    await page.setInputFiles('input[type=file]', sharedPath(record));
    const card = page.getByRole('region', { name: 'hppc_25degC.csv' });
    await card
      .getByText(/ready|refused/)
      .first()
      .waitFor();
    if (await card.getByText('○ ready').isVisible()) {
      await page.getByRole('button', { name: /^Import the file/ }).click();
    }
    await card.getByText('Refused.').waitFor();
    expect(await card.textContent()).toMatch(/before|already|same/i);
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });

  it('takes the import back and finds its tests gone', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'dark');
    await page.goto('/import');
    await page.getByRole('button', { name: 'Undo the import of hppc_25degC.csv' }).click();
    await page.getByRole('button', { name: 'Undo import', exact: true }).click();
    await page.getByRole('cell', { name: 'import undone' }).waitFor();
    await page.goto('/tests');
    await page.getByRole('heading', { name: 'No test yet' }).waitFor();
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });
});
