import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { writeDemonstration } from '../../../seed/writeFiles.ts';
import type { StoredPair, StoredPairing } from '../../../server/contract/pairings.ts';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';

/** Twelve ordinary cells, and one whose tester signs the current the other way round. */
const serials = [...Array.from({ length: 12 }, (_, i) => `QM${String(i + 1).padStart(3, '0')}`), 'QM023'];

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** The names of two pairs of a run whose partners may be exchanged; each exchange that is tried is taken back. */
async function exchangeable(address: string, pairingId: number): Promise<[string, string]> {
  const { pairs, version } = await ask<StoredPairing>(address, `/pairings/${pairingId}`);
  const swap = (body: object, read: number) =>
    ask<StoredPairing>(address, `/pairings/${pairingId}/swap`, body, { 'if-match': `"${read}"` });
  const name = (pair: StoredPair) => pair.cells.map((c) => c.serial).join(' with ');
  for (const first of pairs) {
    for (const second of pairs.filter((p) => p.id > first.id)) {
      const body = { pairId: first.id, withPairId: second.id };
      const tried = await swap(body, version).catch(() => null);
      if (tried === null) continue;
      await swap(body, tried.version);
      return [name(first), name(second)];
    }
  }
  throw new Error('No two pairs of the run may exchange partners.');
}

describe.skipIf(withoutBrowser)('the whole job on files of the demonstration lot, by mouse', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-files-'));
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  it('takes many files at once, shows how each is understood, and mends a swapped sign', async () => {
    const files = writeDemonstration(folder).filter(
      (f) =>
        f.path.endsWith('incoming_inspection.csv') ||
        (f.temperatureC === 25 && f.serial !== null && serials.includes(f.serial)),
    );
    await page.goto('/');
    await page.getByRole('main').getByRole('link', { name: 'Import files' }).click();
    await addLot(page, {
      type: 'QM-2200P',
      ratedAh: '2.2',
      limitV: '4.2',
      cutoffV: '3.0',
      lot: 'QM-2200P delivery 7',
    });
    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Pattern of the file names').fill('{kind}_{cell}_{temperature}C.csv');
    await page.setInputFiles(
      'input[type=file]',
      files.map((f) => f.path),
    );
    const swapped = page.getByRole('region', { name: 'pulse_QM023_25C.csv' });
    const reversed = swapped.getByText(/the voltage moves against the current at \d+ of \d+ current steps/);
    await reversed.waitFor();
    await swapped.getByLabel('Sign of the current').selectOption('discharge-positive');
    await reversed.waitFor({ state: 'detached' });
    await page.getByRole('button', { name: `Import the ${files.length} files that are ready` }).click();
    await page.getByRole('link', { name: /^Next: the lot/ }).waitFor({ timeout: 60_000 });
    expect(await page.locator('.problem').allTextContents()).toEqual([]);
    expect(await page.getByText('● imported').count()).toBe(files.length);
  });

  it('says once for many tests what their records do not say, and evaluates the lot', async () => {
    await page.getByRole('link', { name: /^3 Tests/ }).click();
    await page.getByLabel('Kind', { exact: true }).selectOption('pulse');
    await page.getByText(`${serials.length} rows`).waitFor();
    await page.getByLabel('Choose all shown').check();
    await page.getByLabel('SOC at the start of the record, %').fill('100');
    await page.getByRole('button', { name: `Save for the ${serials.length} chosen tests` }).click();
    await page.getByText(`${serials.length} tests are changed.`, { exact: false }).waitFor();
    await page.getByRole('link', { name: /^1 Lots/ }).click();
    await page.getByRole('link', { name: /QM-2200P delivery/ }).click();
    await page.getByRole('button', { name: 'Evaluate now' }).click();
    await page.getByText(/Evaluating the lot: done/).waitFor({ timeout: 60_000 });
  });

  it('shows the lot with its outliers, in the units that the reader chose', async () => {
    await page.getByText('48 rows').waitFor();
    await page.getByRole('columnheader', { name: /Capacity, 25 °C, Ah/ }).waitFor();
    await page.getByLabel('Capacity', { exact: true }).selectOption('mAh');
    await page.getByRole('columnheader', { name: /Capacity, 25 °C, mAh/ }).waitFor();
    await page.getByLabel('Filter', { exact: true }).fill('QM01');
    await page.getByText('10 of 48 rows').waitFor();
    expect(new URL(page.url()).searchParams.get('lotFilter')).toBe('QM01');
    await page.reload();
    await page.getByText('10 of 48 rows').waitFor();
    await page.getByRole('columnheader', { name: /Capacity, 25 °C, mAh/ }).waitFor();
    await page.getByLabel('Capacity', { exact: true }).selectOption('Ah');
    await page.getByLabel('Filter', { exact: true }).fill('');
  });

  it('hands out a chart as a table, as a PNG and as CSV', async () => {
    const figure = page.getByRole('figure', { name: 'Capacity, 25 °C: histogram' });
    const png = page.waitForEvent('download');
    await figure.getByRole('button', { name: 'Download as PNG' }).click();
    const picture = readFileSync(await (await png).path());
    expect(picture.subarray(1, 4).toString()).toBe('PNG');
    await figure.getByRole('button', { name: 'Show as a table' }).click();
    await figure.getByRole('columnheader', { name: 'Capacity, 25 °C, Ah' }).waitFor();
    const csv = page.waitForEvent('download');
    await figure.getByRole('button', { name: 'Download as CSV' }).click();
    expect(readFileSync(await (await csv).path(), 'utf8')).toMatch(/^Series,"Capacity, 25 °C, Ah",Cells\r\n/);
    await figure.getByRole('button', { name: 'Show as a chart' }).click();
  });

  it('leads from a number to the rows of the file it came from', async () => {
    await page.getByTitle('Where this number comes from').first().click();
    await page.waitForURL(/\/measurements\/\d+$/);
    await page.getByText('SHA-256').waitFor();
    await page.goBack();
    await page.getByRole('link', { name: 'QM005' }).first().click();
    await page.getByRole('link', { name: 'origin of Capacity', exact: true }).first().click();
    await page.getByText('SHA-256').waitFor();
    await page.getByText(/\.csv/).first().waitFor();
    await page.goBack();
  });

  it('evaluates a test again with other settings, and shows before and after', async () => {
    // Pressed before the page has the evaluation that it compares with.
    const shown = /\/tests\/\d+\/evaluation$/;
    await page.route(shown, async (route) => {
      await new Promise((resolve) => setTimeout(resolve, 2000));
      await route.continue();
    });
    await page
      .getByRole('link', { name: /^pulse/ })
      .first()
      .click();
    await page.getByRole('button', { name: 'Evaluate again with other settings' }).click();
    await page.getByLabel('Most branches of the circuit').fill('1');
    await page.getByRole('button', { name: 'Evaluate with these' }).click();
    const changes = page.getByRole('region', { name: 'Before and after' });
    await changes.getByText(/pulse 1: R1/).waitFor();
    await page.getByText('2 evaluations so far').waitFor();
    await page.unrouteAll({ behavior: 'wait' });
  });

  it('zooms into the record, with the window in the address', async () => {
    const figure = page.getByRole('figure', { name: 'Voltage', exact: true });
    await figure.getByRole('button', { name: 'Zoom in' }).click();
    await page.waitForURL(/window=/);
    await settled(page);
    await figure.getByRole('button', { name: 'Reset zoom' }).click();
    await page.waitForURL((url) => !url.searchParams.has('window'));
  });

  it('pairs the cells, rejects a pair and takes that back', async () => {
    await page.getByRole('link', { name: /^4 Pairing/ }).click();
    await page.getByRole('main').getByRole('link', { name: 'Pair cells' }).first().click();
    await page.getByText(/acceptable pairs among/).waitFor();
    await page.getByLabel('Planned charge current, A').fill('2.2');
    await page.getByRole('button', { name: 'Find the best pairing' }).click();
    await page.getByText(/, proven best/).waitFor({ timeout: 30_000 });

    await page
      .getByRole('button', { name: /^Reject / })
      .first()
      .click();
    await page.getByText(/: rejected\./).waitFor();
    await page.getByRole('button', { name: 'Undo', exact: true }).click();
    await page.getByText(/: rejected\./).waitFor({ state: 'detached' });
  });

  it('exchanges partners and takes the exchange back', async () => {
    const id = new URL(page.url()).pathname.split('/').at(-1);
    const [first, second] = await exchangeable(service.address, Number(id));
    // Trying has changed the version of the run; the page would be told that somebody else was there.
    await page.reload();
    const rows = page.getByRole('region', { name: 'Pairs', exact: true }).getByRole('row');
    const row = rows.filter({ has: page.getByRole('button', { name: first, exact: true }) });
    await row.getByRole('button', { name: 'Exchange…' }).click();
    await row.getByLabel('Exchange partners with').selectOption({ label: second });
    await row.getByRole('button', { name: 'Exchange', exact: true }).click();
    await page.getByText('The partners are exchanged.').waitFor();
    await page.getByRole('button', { name: first, exact: true }).waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Undo', exact: true }).click();
    await page.getByRole('button', { name: first, exact: true }).waitFor();
    await page.getByRole('button', { name: second, exact: true }).waitFor();
  });

  it('accepts a pair, plans a stack and builds it', async () => {
    await page
      .getByRole('button', { name: /^Accept QM/ })
      .first()
      .click();
    await page.getByText(/: accepted\./).waitFor();
    await page
      .getByRole('button', { name: /^QM\d+ with QM\d+$/ })
      .first()
      .click();
    await page.getByText('Usable capacity of the stack').waitFor();
    await page.getByRole('button', { name: 'Plan 1 stack' }).click();
    await page.getByText('1 stack is planned.').waitFor();

    await page.getByRole('link', { name: 'to the stack', exact: true }).click();
    await page.getByRole('heading', { name: /^Stack / }).waitFor();
    await page.getByRole('button', { name: 'Mark as built…' }).click();
    await page.getByRole('button', { name: 'Built', exact: true }).click();
    await page.getByText(/is built\./).waitFor();
    await page.emulateMedia({ media: 'print' });
    await page.getByRole('heading', { name: /: traveller$/ }).waitFor();
    await page.emulateMedia({ media: 'screen' });
  });

  it('computes how fast the stack may be charged, with the cautions beside it', async () => {
    await page.getByRole('main').getByRole('link', { name: 'Charge study' }).click();
    await page.getByRole('region', { name: /^Result of/ }).waitFor({ timeout: 30_000 });
    await page.getByLabel('Rate, C', { exact: true }).fill('1.5');
    await page.getByText('What limited the current, and when').waitFor();
    await page.getByText('Temperature zones, precharge, stepped taper, regulator').click();
    await page.getByRole('button', { name: 'Add a zone' }).click();
    await page.getByLabel('at most, C').fill('0.7');
    const bound = page.getByRole('figure', { name: 'What limited the current, and when' });
    await bound.getByRole('button', { name: 'Show as a table' }).click();
    await bound
      .getByText(/current of the temperature zone/)
      .first()
      .waitFor();
    await page.getByRole('button', { name: 'Keep the study and answer all questions' }).click();
    await page.waitForURL(/charge-studies\/\d+$/);
    await page
      .getByRole('heading', { name: 'Highest rate that keeps every limit' })
      .waitFor({ timeout: 30_000 });
    await page.getByText('Watch the voltage of each cell, never only that of the stack.').waitFor();
  });

  it('exports the stack as a file', async () => {
    await page.getByRole('link', { name: /^5 Stacks/ }).click();
    await page.getByRole('main').getByRole('table').getByRole('link').first().click();
    await page.getByRole('main').getByRole('link', { name: 'Export', exact: true }).click();
    await page.getByLabel('Parameters (JSON)').check();
    const file = page.waitForEvent('download');
    await page.getByRole('button', { name: 'Export', exact: true }).click();
    expect(JSON.parse(readFileSync(await (await file).path(), 'utf8'))).toBeTypeOf('object');
  });

  it('says before a run that only pairs are proven best', async () => {
    await page.getByRole('link', { name: /^4 Pairing/ }).click();
    await page.getByRole('main').getByRole('link', { name: 'Pair cells' }).first().click();
    await page.getByText(/acceptable pairs among/).waitFor();
    await page.getByText(/Pairs are proven best\. Groups of more than two are found by a search/).waitFor();
    await expect.poll(() => page.getByLabel('Cells in series').inputValue()).toBe('2');
  });

  it('leaves no error on the console and no failed request behind', () => {
    expect(trouble.found).toEqual([]);
  });
});
