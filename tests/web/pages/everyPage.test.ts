import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { de } from '../../../web/src/words/de/index.ts';
import { en } from '../../../web/src/words/en/index.ts';
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
  '/import?samples=open',
  '/jobs',
  '/cell-types?open={type}',
  '/cell-types?rates=type+{type}',
  '/cell-types?rates=chemistry+1',
  '/interface',
  '/lots/{lot}/report',
  '/pairings/{pairing}/report',
  '/charge-studies/{study}/report',
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

  it('in German shows no English text of the pages, speaks German to a screen reader, and has no serious finding', async () => {
    const { page, context, trouble } = await openPage(browser, service.address, 'desk', 'light', 'de-DE');
    const isEnglish = englishTexts();
    const wrong: string[] = [];
    for (const path of paths) {
      const address = path.replace(/\{(\w+)\}/g, (_, name: string) => String(ids[name]));
      await page.goto(address);
      await settled(page);
      expect(await page.evaluate('document.documentElement.lang')).toBe('de');
      for (const finding of await seriousFindings(page)) wrong.push(`${address} ${finding}`);
      for (const text of await textsOf(page)) {
        const key = isEnglish(text);
        if (key !== null) wrong.push(`${address} says in English: ${text} (${key})`);
      }
      wrong.push(...trouble.found.splice(0).map((text) => `${address} ${text}`));
    }
    await context.close();
    expect(wrong).toEqual([]);
  }, 180_000);
});

/** Every text that stands on a page or is read out, folded parts too. */
async function textsOf(page: Page): Promise<string[]> {
  return (await page.evaluate(`(() => {
    const texts = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    // What a file, a program or the service itself says is no text of the pages.
    while (walk.nextNode())
      if (walk.currentNode.parentElement.closest('code, pre, [lang=en]') === null)
        texts.push(walk.currentNode.textContent);
    for (const name of ['aria-label', 'title', 'placeholder'])
      for (const element of document.querySelectorAll('[' + name + ']')) texts.push(element.getAttribute(name));
    return texts.map((text) => text.replace(/\\s+/g, ' ').trim()).filter((text) => text !== '');
  })()`)) as string[];
}

/** Tells the key of the English text of the pages that a text is; null for what is German, a number, or a name. */
function englishTexts(): (text: string) => string | null {
  const inGerman: Readonly<Record<string, Readonly<Record<string, string>>>> = de;
  const patterns = Object.entries(en).flatMap(([room, texts]) =>
    Object.entries<string>(texts)
      .filter(
        ([key, text]) => inGerman[room][key] !== text && /[a-z]{3}/.test(text.replace(/\{\{\w+\}\}/g, '')),
      )
      .map(([key, text]) => ({ key: `${room}.${key}`, pattern: patternOf(text) })),
  );
  const german = Object.values(de).flatMap((texts) => Object.values<string>(texts).map(patternOf));
  const told = new Map<string, string | null>();
  const tell = (text: string): string | null => {
    const found = patterns.find(({ pattern }) => pattern.test(text));
    return found === undefined || german.some((pattern) => pattern.test(text)) ? null : found.key;
  };
  return (text) => {
    // The same texts stand on every page, and each is held against some two thousand patterns.
    const known = told.get(text);
    if (known !== undefined) return known;
    const key = tell(text);
    told.set(text, key);
    return key;
  };
}

function patternOf(text: string): RegExp {
  const parts = text.trim().split(/\{\{\w+\}\}/);
  const escaped = parts.map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&').replace(/\s+/g, ' '));
  return new RegExp(`^${escaped.join('.+')}$`);
}
