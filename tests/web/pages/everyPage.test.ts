import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, pixelsTooWide, seriousFindings, settled } from './browser.ts';
import { doTheJob } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';
import { smallTargets } from './smallTargets.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** Every page, in a state in which it shows something; `{…}` stands for an id of the demonstration. */
const paths = [
  '/',
  '/lots',
  '/lots/{lot}',
  '/lots/{lot}?uncertainty=yes&lotSort=-serial',
  '/cells',
  '/cells/{cell}',
  '/tests',
  '/tests/{test}',
  '/tests/{test}?pulse=0',
  '/measurements/{measurement}',
  '/pairings',
  '/pairings/new?lots={lot}',
  '/pairings/{pairing}',
  '/stacks',
  '/stacks/{stack}',
  '/stack-logs/{log}',
  '/stack-log-evaluations/{evaluation}',
  '/stack-log-evaluations/{evaluation}/report',
  '/supply-parts',
  '/ageing',
  '/charge-studies',
  '/charge-studies/new?stack={stack}',
  '/charge-studies/{study}',
  '/charge-studies/compare?ids={study}',
  '/exports',
  '/import',
  '/jobs',
  '/cell-types?open={type}',
  '/cell-types?rates=type+{type}',
  '/cell-types?rates=chemistry+1',
  '/interface',
  '/no-such-page',
];

describe.skipIf(withoutBrowser)('every page', () => {
  let service: RunningService;
  let browser: Browser;
  let ids: Record<string, number>;

  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ids = await doTheJob(service.address);
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it.each(['desk', 'phone'] as const)(
    'at the %s size has no serious finding of axe-core in light or dark, no error, no failed request, no sideways scrolling',
    async (size) => {
      const { page, context, trouble } = await openPage(browser, service.address, size, 'light');
      const wrong: string[] = [];
      for (const path of paths) {
        const address = path.replace(/\{(\w+)\}/g, (_, name: string) => String(ids[name]));
        const note = (text: string) => wrong.push(`${address} ${text}`);
        await page.goto(address);
        await settled(page);
        (await seriousFindings(page)).forEach(note);
        for (const text of await page.locator('.problem, .failure').allInnerTexts()) note(`shows: ${text}`);
        const over = await pixelsTooWide(page);
        if (over > 0) note(`is ${over} pixels too wide`);
        if (size === 'phone')
          for (const small of await smallTargets(page)) note(`has a small target: ${small}`);
        if ((await page.locator('h1').count()) !== 1) note('has not exactly one h1');
        // The page follows the system's change from light to dark; only what depends on colours is judged again.
        await page.emulateMedia({ colorScheme: 'dark' });
        await page.locator('[data-mantine-color-scheme=dark]').waitFor({ state: 'attached' });
        (await seriousFindings(page, ['color-contrast'])).forEach(note);
        await page.emulateMedia({ colorScheme: 'light' });
        trouble.found.splice(0).forEach(note);
      }
      await context.close();
      expect(wrong).toEqual([]);
    },
    180_000,
  );
});
