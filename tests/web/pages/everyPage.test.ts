import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { de } from '../../../web/src/words/de/index.ts';
import { service as germanOfService } from '../../../web/src/words/de/service/index.ts';
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

  // Each size in one language: what a rule of axe-core or the width of a page depends on is met in both.
  it.each([
    ['desk', 'en', 'first'],
    ['desk', 'en', 'second'],
    ['phone', 'de', 'first'],
    ['phone', 'de', 'second'],
  ] as const)(
    'at the %s size in the language %s (%s half of them) has no serious finding of axe-core in light or dark, no error, no failed request, no sideways scrolling, no text of the other language',
    async (size, language, half) => {
      const locale = language === 'de' ? 'de-DE' : 'en-GB';
      const { page, context, trouble } = await openPage(browser, service.address, size, 'light', locale);
      const isForeign = foreignTexts(language);
      const wrong: string[] = [];
      const middle = Math.ceil(paths.length / 2);
      for (const path of half === 'first' ? paths.slice(0, middle) : paths.slice(middle)) {
        const address = path.replace(/\{(\w+)\}/g, (_, name: string) => String(ids[name]));
        const note = (text: string) => wrong.push(`${address} ${text}`);
        await page.goto(address);
        await settled(page);
        expect(await page.evaluate('document.documentElement.lang')).toBe(language);
        (await seriousFindings(page)).forEach(note);
        for (const text of await page.locator('.problem, .failure').allInnerTexts()) note(`shows: ${text}`);
        const over = await pixelsTooWide(page);
        if (over > 0) note(`is ${over} pixels too wide`);
        if (size === 'phone')
          for (const small of await smallTargets(page)) note(`has a small target: ${small}`);
        if ((await page.locator('h1').count()) !== 1) note('has not exactly one h1');
        for (const text of await textsOf(page)) {
          const key = isForeign(text);
          if (key !== null) note(`is in another language: ${text} (${key})`);
        }
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
  );
});

/** Every text that stands on a page or is read out, folded parts too. */
async function textsOf(page: Page): Promise<string[]> {
  return (await page.evaluate(`(() => {
    const texts = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    // What a file, a program or the service itself says is not a text of the pages.
    while (walk.nextNode())
      if (walk.currentNode.parentElement.closest('code, pre, [lang=en], [lang=de]:not(html)') === null)
        texts.push(walk.currentNode.textContent);
    for (const name of ['aria-label', 'title', 'placeholder'])
      for (const element of document.querySelectorAll('[' + name + ']')) texts.push(element.getAttribute(name));
    return texts.map((text) => text.replace(/\\s+/g, ' ').trim()).filter((text) => text !== '');
  })()`)) as string[];
}

/** The key of the text of the other language that a text of a page is; null for what is right, a number, or a name. */
function foreignTexts(language: 'en' | 'de'): (text: string) => string | null {
  type Rooms = Readonly<Record<string, Readonly<Record<string, string>>>>;
  const [own, foreign]: readonly [Rooms, Rooms] = language === 'en' ? [en, de] : [de, en];
  const patterns = Object.entries(foreign).flatMap(([room, texts]) =>
    Object.entries(texts)
      .filter(([key, text]) => own[room][key] !== text && /[a-z]{3}/.test(text.replace(/\{\{\w+\}\}/g, '')))
      .map(([key, text]) => ({ key: `${room}.${key}`, pattern: patternOf(text) })),
  );
  if (language === 'de')
    patterns.push(
      ...Object.entries(germanOfService)
        .filter(([english, german]) => english !== german && english.length > 20)
        .map(([english]) => ({ key: 'a sentence of the service', pattern: patternOf(english) })),
    );
  const right = Object.values(own).flatMap((texts) => Object.values(texts).map(patternOf));
  const keyOf = (text: string): string | null => {
    if (language === 'de' && isEnglish(text)) return 'reads as English';
    const found = patterns.find(({ pattern }) => pattern.test(text));
    return found === undefined || right.some((pattern) => pattern.test(text)) ? null : found.key;
  };
  // The same texts stand on every page, and each is held against some two thousand patterns.
  const known = new Map<string, string | null>();
  return (text) => {
    const before = known.get(text);
    if (before !== undefined) return before;
    const key = keyOf(text);
    known.set(text, key);
    return key;
  };
}

/** Words of English sentences that are no German ones. */
const englishWords = /\b(the|of|is|are|with|not|from|and|by|to|this|that|has|no|its|for)\b/g;

function isEnglish(text: string): boolean {
  return new Set(text.match(englishWords)).size >= 3;
}

/** Whether a text is one with something in each of its places; part by part, because a regular expression with many places takes seconds. */
function patternOf(pattern: string): { test(text: string): boolean } {
  const [start, ...parts] = pattern
    .trim()
    .replace(/\s+/g, ' ')
    .split(/\{\{\w+\}\}/);
  const end = parts.pop();
  if (end === undefined) return { test: (text) => text === start };
  return {
    test: (text) => {
      if (!text.startsWith(start)) return false;
      let at = start.length + 1;
      for (const part of parts) {
        const found = text.indexOf(part, at);
        if (found < 0) return false;
        at = found + part.length + 1;
      }
      return text.length - end.length >= at && text.endsWith(end);
    },
  };
}
