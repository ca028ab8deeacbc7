import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { writeCycling, writeDemonstration } from '../../../seed/writeFiles.ts';
import { isMissing } from '../../support/required.ts';
import {
  chromiumPath,
  openBrowser,
  openPage,
  pixelsTooWide,
  seriousFindings,
  settled,
  type Trouble,
} from './browser.ts';
import { pinch, swipe } from './fingers.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';
import { smallTargets } from './smallTargets.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');
const serials = ['QM001', 'QM002', 'QM003', 'QM004', 'QM005', 'QM006'];
/** 1 × 1 pixel. */
const photo = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAQAAAC1HAwCAAAAC0lEQVR42mNk+A8AAQUBAScY42YAAAAASUVORK5CYII=',
  'base64',
);

/** The files that a first user has on the phone; one of them with a header that says nothing. */
function writeFiles(folder: string): string[] {
  const paths = writeDemonstration(folder)
    .filter((f) => f.temperatureC === 25 && f.serial !== null && serials.includes(f.serial))
    .map((f) => f.path);
  const odd = join(folder, 'capacity_QM001_25C.csv');
  writeFileSync(odd, readFileSync(odd, 'utf8').replace(/^time_s,.*$/m, 'alpha,beta,gamma,delta'));
  return [...paths, writeCycling(folder, serials.slice(0, 2)).path];
}

describe.skipIf(withoutBrowser)('the whole job on a phone', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-phone-'));
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'phone', 'light'));
    page.setDefaultTimeout(15_000);
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  /** The page as it stands fits the screen, can be hit with a finger and read by everyone, in light and in the dark. */
  async function isHandy(): Promise<void> {
    await settled(page);
    expect(await smallTargets(page)).toEqual([]);
    expect(await pixelsTooWide(page)).toBe(0);
    expect(await seriousFindings(page, ['color-contrast', 'label', 'button-name', 'link-name'])).toEqual([]);
    await page.emulateMedia({ colorScheme: 'dark' });
    await page.locator('[data-mantine-color-scheme=dark]').first().waitFor({ state: 'attached' });
    expect(await seriousFindings(page, ['color-contrast'])).toEqual([]);
    await page.emulateMedia({ colorScheme: 'light' });
  }

  /** Goes to a station of the job by the contents, which open at a tap. */
  async function station(name: RegExp): Promise<void> {
    // A page on its way closes the contents when it comes.
    await settled(page);
    await page.getByRole('button', { name: /▾|Contents|of 8/ }).tap();
    await page.getByRole('link', { name }).first().tap();
    await settled(page);
  }

  const tapButton = (name: string | RegExp) => page.getByRole('button', { name, exact: true }).first().tap();

  it('takes many files from the chooser, and one whose columns are assigned by hand', async () => {
    const paths = writeFiles(folder);
    await page.goto('/');
    await isHandy();
    await page.getByRole('main').getByRole('link', { name: 'Import files' }).first().tap();
    await addLot(page, {
      type: 'QM-2200P',
      ratedAh: '2.2',
      limitV: '4.2',
      cutoffV: '3.0',
      lot: 'delivery 7',
    });
    await page.getByText('Details missing from the files').tap();
    await page.getByLabel('Pattern of the file names').fill('{kind}_{cell}_{temperature}C.csv');
    const chooser = page.waitForEvent('filechooser');
    await tapButton('Choose files');
    await (await chooser).setFiles(paths);
    const odd = page.getByRole('region', { name: 'capacity_QM001_25C.csv' });
    await odd.getByText('Refused.').waitFor();
    for (const [role, column] of [
      ['time', 'alpha'],
      ['voltage', 'beta'],
      ['current', 'gamma'],
    ]) {
      await odd.getByLabel(`Column of the ${role}`).selectOption(column);
    }
    await odd.getByText('○ ready').waitFor();
    await isHandy();
    await tapButton(`Import the ${paths.length} files that are ready`);
    const next = page.getByRole('link', { name: 'Next: the lot delivery 7' });
    await next.waitFor({ timeout: 60_000 });
    expect(await page.locator('.problem').allTextContents()).toEqual([]);
    expect(await page.getByText('● imported').count()).toBe(paths.length);
    await next.tap();
  });

  it('says what the records do not say, and evaluates the lot', async () => {
    await station(/^3 Tests/);
    await page.getByLabel('Kind', { exact: true }).selectOption('pulse');
    await page.getByText('6 rows').waitFor();
    await page.getByLabel('Choose all shown').tap();
    await page.getByLabel('SOC at the start of the record, %').fill('100');
    await isHandy();
    await tapButton('Save for the 6 chosen tests');
    await page.getByRole('main').getByRole('link', { name: 'delivery 7' }).last().tap();
    await tapButton('Evaluate now');
    await page.getByText(/Evaluating the lot: done/).waitFor({ timeout: 60_000 });
  });

  it('looks at the lot: columns, filter, order, choice, spread', async () => {
    await page.getByRole('columnheader', { name: /^Capacity, 25 °C, Ah/ }).waitFor();
    await settled(page);
    await page.getByRole('combobox', { name: 'Measured columns' }).tap();
    await page.getByRole('listbox', { name: 'Measured columns' }).waitFor();
    expect(await seriousFindings(page)).toEqual([]);
    await page.keyboard.press('Escape');
    await tapButton('Columns');
    // Asked until it holds: while the list appears it can still be read through.
    await expect.poll(() => seriousFindings(page), { timeout: 5_000 }).toEqual([]);
    await page.getByRole('menuitemcheckbox', { name: 'Tests' }).tap();
    await page.keyboard.press('Escape');
    await page.getByLabel('Filter', { exact: true }).fill('QM00');
    await page.getByText('6 rows').first().waitFor();
    await page.getByText('More columns: swipe the table →').first().waitFor();
    await page.getByRole('button', { name: /^Capacity, 25 °C, Ah/ }).tap();
    await page.waitForURL(/lotSort=/);
    for (let row = 1; row <= 6; row++) await page.getByLabel(`Choose row ${row}`, { exact: true }).tap();
    await page.getByRole('figure', { name: 'Capacity, 25 °C: histogram' }).waitFor();
    await isHandy();
  });

  it('scrolls past a chart with one finger, zooms it with two, and evaluates with other settings', async () => {
    await page.getByRole('link', { name: 'QM003' }).first().tap();
    await page
      .getByRole('link', { name: /^pulse test/ })
      .first()
      .tap();
    await settled(page);
    const chart = page.getByRole('figure', { name: 'Voltage', exact: true }).locator('canvas');
    await swipe(page, chart, { up: 150 });
    expect(Number(await page.evaluate('scrollY'))).toBeGreaterThan(80);
    expect(new URL(page.url()).searchParams.has('window')).toBe(false);
    await pinch(page, chart);
    await page.waitForURL(/window=/);
    await settled(page);
    await page.getByRole('figure', { name: 'Voltage', exact: true }).getByLabel('Reset zoom').tap();
    await page.waitForURL((url) => !url.searchParams.has('window'));
    await tapButton('Evaluate again with other settings');
    await page.getByLabel('Most branches of the circuit').fill('1');
    await isHandy();
    await tapButton('Evaluate with these');
    await page
      .getByRole('region', { name: 'Before and after' })
      .getByText(/pulse 1: R1/)
      .waitFor();
  });

  it('pairs the chosen cells, decides, and plans and builds a stack', async () => {
    await station(/^1 Lots/);
    await page.getByRole('link', { name: 'delivery 7' }).tap();
    await page.getByRole('link', { name: 'Pair the 6 chosen cells' }).tap();
    await page.getByText(/acceptable pairs among 6 offered cells/).waitFor();
    await page.getByLabel('Planned charge current, A').fill('2.2');
    await isHandy();
    await tapButton('Find the best pairing');
    await page.getByText(/, proven best/).waitFor({ timeout: 30_000 });
    await isHandy();
    await page
      .getByRole('button', { name: /^Reject QM/ })
      .first()
      .tap();
    await page.getByText(/: rejected\./).waitFor();
    await tapButton('Undo');
    await page.getByText(/: rejected\./).waitFor({ state: 'detached' });
    await tapButton(/^Accept the (\d proposed pairs|proposed pair)$/);
    await page.getByRole('button', { name: /^Plan \d stacks?$/ }).tap();
    await page.getByRole('link', { name: 'to the stack', exact: true }).first().tap();
    await tapButton('Mark as built…');
    await page.getByRole('button', { name: 'Built', exact: true }).tap();
    await page.getByText(/is built\./).waitFor();
  });

  it('keeps a date, a note and a photo with the stack', async () => {
    await page.getByLabel('Next check-up').fill('2027-03-01');
    await tapButton('Save the date');
    await page.getByText(/check-up due 1 Mar 2027/).waitFor();
    await page.getByLabel('Add a note').fill('Welded at the second try.');
    await tapButton('Add note');
    await page.getByText('Welded at the second try.').first().waitFor();
    await page
      .getByLabel('Photo to keep')
      .setInputFiles({ name: 'weld.png', mimeType: 'image/png', buffer: photo });
    await page.getByRole('img', { name: 'weld.png' }).waitFor();
    await isHandy();
  });

  it('computes how fast the stack may be charged, with the answer at hand while typing', async () => {
    await page.getByRole('main').getByRole('link', { name: 'Charge study' }).first().tap();
    await page
      .locator('.in-short')
      .filter({ hasText: /ends after/ })
      .waitFor();
    const before = await page.locator('.in-short').textContent();
    await page.getByLabel('Rate, C', { exact: true }).fill('0.5');
    await expect.poll(() => page.locator('.in-short').textContent(), { timeout: 15_000 }).not.toBe(before);
    await isHandy();
    await page.getByRole('link', { name: 'To the charts' }).tap();
    const result = page.getByRole('region', { name: /^Result of/ });
    const cautions = result.locator('summary').filter({ hasText: 'Cautions:' });
    await cautions
      .filter({ hasText: 'Watch the voltage of each cell, never only that of the stack.' })
      .waitFor();
    await cautions.tap();
    await result.getByRole('listitem').filter({ hasText: 'datasheet' }).first().waitFor();
    await tapButton('Keep the study and answer all questions');
    await page.waitForURL(/charge-studies\/\d+$/);
    await page.getByRole('heading', { name: 'Highest rate that keeps every limit' }).waitFor();
    await isHandy();
  });

  it('assesses the ageing of the cycled cells', async () => {
    await station(/^6 Ageing/);
    await tapButton(/^Assess/);
    await page.getByText(/Assessing the ageing: done/).waitFor({ timeout: 60_000 });
    await page.getByRole('figure', { name: /^Capacity of QM00\d over life/ }).waitFor();
    await isHandy();
  });

  it('hands out a file, takes an import back, and shows other units on other paper', async () => {
    await station(/^8 Exports/);
    await page.getByText('First choose above which lot it is to be.').waitFor();
    await page.getByLabel('Which').selectOption({ label: 'delivery 7' });
    const file = page.waitForEvent('download');
    await tapButton('Export');
    expect(statSync(await (await file).path()).size).toBeGreaterThan(1000);
    await page.getByRole('link', { name: basename((await file).suggestedFilename()) }).waitFor();
    await isHandy();

    const more = join(folder, 'more.csv');
    writeFileSync(more, 'cell,capacity_ah\nPH1,2.21\nPH2,2.22\n');
    await page.goto('/import?lot=delivery+7');
    await page.setInputFiles('input[type=file]', more);
    await tapButton('Import the file that is ready');
    await page.getByText('● imported').waitFor();
    await tapButton('Undo the import of more.csv');
    await page.getByText('Removed, because nothing else depends on them: PH1, PH2.').waitFor();
    await page.getByRole('button', { name: 'Undo import', exact: true }).tap();
    await page.getByRole('cell', { name: 'import undone' }).waitFor();
    await isHandy();

    await page.getByRole('button', { name: /Contents/ }).tap();
    await page.getByLabel('Capacity', { exact: true }).selectOption('mAh');
    await page.getByLabel('Theme').selectOption('dark');
    await page.locator('[data-mantine-color-scheme=dark]').first().waitFor({ state: 'attached' });
    await page.getByRole('link', { name: /^1 Lots/ }).tap();
    await page.getByRole('link', { name: 'delivery 7' }).tap();
    await page.getByRole('columnheader', { name: /Capacity, 25 °C, mAh/ }).waitFor();
    await isHandy();
  });

  it('leaves no error on the console and no failed request behind', () => {
    expect(trouble.found).toEqual([]);
  });
});
