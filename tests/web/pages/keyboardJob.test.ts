import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { type RunningService, startService } from './service.ts';
import { tabTo } from './tabTo.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** Ten more cells of the demonstration lot, each with a capacity and a resistance. */
const table = [
  'cell,capacity_ah,resistance_10s_mohm',
  ...Array.from(
    { length: 10 },
    (_, i) => `KB${String(i + 1).padStart(2, '0')},${(2.2 + i / 1000).toFixed(3)},27.${i}`,
  ),
].join('\n');

describe.skipIf(withoutBrowser)('import, stack, charge study and export by keyboard alone', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-keys-'));
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  /** Goes to a station of the job by the contents. */
  async function station(name: RegExp): Promise<void> {
    await tabTo(page, page.getByRole('link', { name }).first(), 400);
    await page.keyboard.press('Enter');
    await settled(page);
  }

  it('chooses the lot and the file, sees how it is understood, and imports it', async () => {
    const path = join(folder, 'more-cells.csv');
    writeFileSync(path, table);
    // Long before the key is pressed: the browser must know by then that the test answers its question for files.
    const chooser = page.waitForEvent('filechooser');
    await page.goto('/');
    await settled(page);
    await station(/^Import files/);
    await tabTo(page, page.getByLabel('Lot the cells belong to'));
    await page.keyboard.press('ArrowDown');
    await tabTo(page, page.getByRole('button', { name: 'Choose files' }));
    await page.keyboard.press('Enter');
    await (await chooser).setFiles(path);
    await page.getByRole('region', { name: 'more-cells.csv' }).getByText('○ ready').waitFor();
    await tabTo(page, page.getByRole('button', { name: /^Import the file/ }));
    await page.keyboard.press('Enter');
    await page.getByText('● imported').waitFor();
    await tabTo(page, page.getByRole('link', { name: /^Next: the lot/ }), 20);
    await page.keyboard.press('Enter');
    await page.getByText('58 rows').waitFor();
  });

  it('pastes the conditions of the cycling and sees what they do to life', async () => {
    await station(/^6 Ageing/);
    // A limit that the cells have already passed: only lives that have ended tell what the conditions do.
    await tabTo(page, page.getByLabel('Life ends at'));
    await page.keyboard.type('95%-of-first');
    await tabTo(page, page.locator('summary').filter({ hasText: 'Conditions of the cycling' }));
    await page.keyboard.press('Enter');
    await tabTo(page, page.getByLabel('Conditions of each cell'), 4);
    await page.keyboard.insertText('cell;Temperature (°C)\nQM018;25\nQM019;warm');
    await page.getByText('Row 3, Temperature: “warm” is not a number.').waitFor();
    await page.keyboard.press('Control+a');
    const cells = ['QM001', 'QM018', 'QM021', 'QM025', 'QM034', 'QM047'];
    const rows = cells.map((serial, i) => `${serial};${25 + 4 * i}`);
    await page.keyboard.insertText(['cell;Temperature (°C)', ...rows].join('\n'));
    await page.getByText('6 cells with Temperature.').waitFor();
    await tabTo(page, page.getByRole('button', { name: 'Assess again' }), 4);
    await page.keyboard.press('Enter');
    await page.getByText(/Assessing the ageing: done/).waitFor({ timeout: 60_000 });
    await page.getByRole('heading', { name: 'Life against conditions' }).waitFor();
    await page.getByRole('cell', { name: 'Temperature, °C' }).first().waitFor();
  });

  it('plans a stack of an accepted pair and marks it as built', async () => {
    await station(/^4 Pairing/);
    await tabTo(page, page.getByRole('main').getByRole('table').getByRole('link').first());
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/pairings\/\d+$/);
    await settled(page);
    await tabTo(page, page.getByRole('button', { name: /^QM\d+ with QM\d+$/ }).first());
    await page.keyboard.press('Enter');
    await tabTo(page, page.getByRole('button', { name: 'Compute how this pair charges' }), 400);
    await page.keyboard.press('Enter');
    await page.getByText(/^Charged at .* A, each cell watched/).waitFor();
    await tabTo(page, page.getByRole('button', { name: /^Plan \d+ stacks?$/ }), 400);
    await page.keyboard.press('Enter');
    await page.getByText(/stacks are planned\./).waitFor();
    await station(/^5 Stacks/);
    const planned = page.getByRole('row').filter({ hasText: 'planned' }).getByRole('link').first();
    await tabTo(page, planned);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: /^Stack / }).waitFor();
    await tabTo(page, page.getByRole('button', { name: 'Mark as built…' }));
    await page.keyboard.press('Enter');
    await tabTo(page, page.getByRole('button', { name: 'Built', exact: true }), 400);
    await page.keyboard.press('Enter');
    await page.getByText(/is built\./).waitFor();
  });

  it('sets a rate and a temperature zone of a charge study and keeps it', async () => {
    await tabTo(page, page.getByRole('main').getByRole('link', { name: 'Charge study' }), 400);
    await page.keyboard.press('Enter');
    await page.getByRole('region', { name: /^Result of/ }).waitFor();
    await tabTo(page, page.getByLabel('Rate, C', { exact: true }));
    await page.keyboard.press('Control+a');
    await page.keyboard.type('0.8');
    await tabTo(page, page.locator('summary').filter({ hasText: 'Temperature zones' }));
    await page.keyboard.press('Enter');
    await tabTo(page, page.getByRole('button', { name: 'Add a zone' }), 4);
    await page.keyboard.press('Enter');
    await page.waitForURL((url) => /"rateC":0\.8.*"zones"/.test(url.searchParams.get('inputs') ?? ''));
    await tabTo(page, page.getByRole('button', { name: 'Keep the study and answer all questions' }));
    await page.keyboard.press('Enter');
    await page.waitForURL(/charge-studies\/\d+$/);
    await page.getByRole('heading', { name: 'Highest rate that keeps every limit' }).waitFor();
  });

  it('exports a stack as a file', async () => {
    await station(/^5 Stacks/);
    await tabTo(page, page.getByRole('main').getByRole('table').getByRole('link').first());
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: /^Stack / }).waitFor();
    await tabTo(page, page.getByRole('main').getByRole('link', { name: 'Export', exact: true }));
    await page.keyboard.press('Enter');
    await page.getByText('Parameters (JSON)').first().waitFor();
    await settled(page);
    const file = page.waitForEvent('download');
    await tabTo(page, page.getByRole('button', { name: 'Export', exact: true }));
    await page.keyboard.press('Enter');
    expect(readFileSync(await (await file).path()).length).toBeGreaterThan(100);
  });

  it('leaves no error on the console and no failed request behind', () => {
    expect(trouble.found).toEqual([]);
  });
});
