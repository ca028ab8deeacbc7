import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { fileSamples } from '../../../server/contract/fileSamples.ts';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, seriousFindings } from './browser.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

describe.skipIf(withoutBrowser)('a user of an empty database without files', () => {
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

  it('finds a sample file of each kind, and all of them can be imported as they are', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'light');
    await page.goto('/');
    await page.getByRole('link', { name: 'Try a sample file of each kind' }).click();
    await addLot(page, { type: 'ZS', ratedAh: '2.5', limitV: '4.2', cutoffV: '2.5', lot: 'Samples' });
    const files: string[] = [];
    for (const sample of fileSamples) {
      const file = page.waitForEvent('download');
      await page.getByRole('button', { name: `Download ${sample.fileName}` }).click();
      const path = `${await (await file).path()}-${sample.fileName}`;
      await (await file).saveAs(path);
      files.push(path);
    }
    expect(await seriousFindings(page)).toEqual([]);
    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Serial of the cell', { exact: true }).fill('S-001');
    await page.setInputFiles('input[type=file]', files);
    await page.getByRole('button', { name: `Import the ${files.length} files that are ready` }).click();
    await expect.poll(() => page.getByText('● imported').count(), { timeout: 30_000 }).toBe(files.length);
    expect(trouble.found).toEqual([]);
  });
});
