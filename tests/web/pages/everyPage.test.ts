import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import {
  chromiumPath,
  openBrowser,
  openPage,
  type Scheme,
  type Size,
  seriousFindings,
  settled,
} from './browser.ts';
import { doTheJob } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

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
  '/ageing',
  '/charge-studies',
  '/charge-studies/new?stack={stack}',
  '/charge-studies/{study}',
  '/charge-studies/compare?ids={study}',
  '/exports',
  '/import',
  '/jobs',
  '/cell-types?open={type}',
  '/interface',
  '/no-such-page',
];

const looks: readonly (readonly [Size, Scheme])[] = [
  ['desk', 'light'],
  ['desk', 'dark'],
  ['phone', 'light'],
  ['phone', 'dark'],
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

  it.each(looks)(
    'at the %s size in %s has no serious finding of axe-core, no error, no failed request, no sideways scrolling',
    async (size, scheme) => {
      const { page, context, trouble } = await openPage(browser, service.address, size, scheme);
      const wrong: string[] = [];
      for (const path of paths) {
        const address = path.replace(/\{(\w+)\}/g, (_, name: string) => String(ids[name]));
        await page.goto(address);
        await settled(page);
        for (const finding of await seriousFindings(page)) wrong.push(`${address} ${finding}`);
        for (const problem of await page.locator('.problem, .failure').allInnerTexts()) {
          wrong.push(`${address} shows: ${problem}`);
        }
        const over = await page.evaluate('document.documentElement.scrollWidth - innerWidth');
        if (typeof over === 'number' && over > 0) wrong.push(`${address} is ${over} pixels too wide`);
        for (const found of trouble.found.splice(0)) wrong.push(`${address} ${found}`);
        if ((await page.locator('h1').count()) !== 1) wrong.push(`${address} has not exactly one h1`);
      }
      await context.close();
      expect(wrong).toEqual([]);
    },
  );
});
