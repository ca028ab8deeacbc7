import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled } from './browser.ts';
import { type RunningService, startService } from './service.ts';
import { tabTo } from './tabTo.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** What was pressed may go away; the focus stays where the work is, and not at the beginning of everything. */
async function expectFocusIn(place: Locator): Promise<void> {
  await expect.poll(() => place.evaluate((e) => e.contains(document.activeElement))).toBe(true);
}

describe.skipIf(withoutBrowser)('the job by keyboard alone', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ({ page } = await openPage(browser, service.address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('skips the contents and goes from the first page to a lot', async () => {
    await page.goto('/');
    await settled(page);
    await page.keyboard.press('Tab');
    const skip = page.getByRole('link', { name: 'To the page' });
    expect(await skip.evaluate((e) => e === document.activeElement)).toBe(true);
    await page.keyboard.press('Enter');
    await tabTo(page, page.getByRole('main').getByRole('link', { name: 'Lots', exact: true }), 25);
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/lots$/);
    await settled(page);
    await tabTo(page, page.getByRole('link', { name: /QM-2200P delivery/ }));
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/lots\/\d+$/);
    await settled(page);
  });

  it('sorts the table, chooses a cell and carries the choice to pairing', async () => {
    await tabTo(page, page.getByRole('button', { name: /^Capacity, 25 °C, Ah/ }));
    await page.keyboard.press('Enter');
    await page.waitForURL(/lotSort=/);
    await tabTo(page, page.getByLabel('Choose row 1', { exact: true }));
    await page.keyboard.press('Space');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Space');
    await page.keyboard.press('End');
    await page.getByLabel('Choose row 48', { exact: true }).waitFor();
    await page.keyboard.press('Home');
    const pair = page.getByRole('link', { name: 'Pair the 2 chosen cells' });
    await pair.waitFor();
    await tabTo(page, pair, 10);
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/pairings\/new\?.*cells=/);
  });

  it('opens a chart as a table and zooms it', async () => {
    await page.goBack();
    await settled(page);
    const figure = page.getByRole('figure', { name: 'Capacity, 25 °C: histogram' });
    const zoom = figure.getByRole('button', { name: 'Zoom in' });
    await zoom.focus();
    await page.keyboard.press('Enter');
    await tabTo(page, figure.getByRole('button', { name: 'Show as a table' }), 6);
    await page.keyboard.press('Enter');
    await figure.getByRole('columnheader', { name: 'Capacity, 25 °C, Ah' }).waitFor();
  });

  it('accepts and takes back a decision on a pair, without a mouse', async () => {
    await page.goto('/pairings');
    await settled(page);
    await tabTo(page, page.getByRole('main').getByRole('table').getByRole('link').first());
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/pairings\/\d+$/);
    await settled(page);
    // One stop for Tab in the table of pairs; the first ones are built and have nothing left to decide.
    await tabTo(page, page.getByRole('button', { name: /^QM\d+ with QM\d+$/ }).first());
    await page.keyboard.press('End');
    const row = page.getByRole('region', { name: 'Pairs', exact: true }).getByRole('row').last();
    await tabTo(page, row.getByRole('button', { name: /^Reject QM/ }), 3);
    await page.keyboard.press('Enter');
    await page.getByText(/: rejected\./).waitFor();
    await expectFocusIn(row);
    await tabTo(page, page.getByRole('button', { name: 'Undo', exact: true }), 400);
    await page.keyboard.press('Enter');
    await page.getByText(/: rejected\./).waitFor({ state: 'detached' });
    await expectFocusIn(page.getByRole('main'));
  });
});
