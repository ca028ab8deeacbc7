import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { type Browser, type BrowserContext, chromium, type Page, type Request } from 'playwright-core';

/** The system's Chromium, or where GEMEL_CHROMIUM says it is. */
export const chromiumPath =
  [
    process.env.GEMEL_CHROMIUM,
    '/usr/bin/chromium',
    '/usr/bin/chromium-browser',
    '/usr/bin/google-chrome',
  ].find((path) => path !== undefined && existsSync(path)) ?? null;

/** A headless browser that asks nobody but the page's own server. */
export function openBrowser(): Promise<Browser> {
  if (chromiumPath === null) throw new Error('There is no Chromium. To install it: apt-get install chromium');
  return chromium.launch({
    executablePath: chromiumPath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

export const sizes = { desk: { width: 1280, height: 800 }, phone: { width: 390, height: 844 } } as const;
export type Size = keyof typeof sizes;
export type Scheme = 'light' | 'dark';

/** Everything that went wrong in a page: console errors, exceptions, failed requests, requests to elsewhere. */
export interface Trouble {
  readonly found: string[];
  /** Answers that a test provokes on purpose, by a part of their address. */
  readonly expected: string[];
}

/** A page of the given size and scheme that notes every trouble. */
export async function openPage(
  browser: Browser,
  address: string,
  size: Size,
  scheme: Scheme,
  locale = 'en-GB',
): Promise<{ context: BrowserContext; page: Page; trouble: Trouble }> {
  const context = await browser.newContext({
    baseURL: address,
    viewport: sizes[size],
    // A phone is touched: the pages offer larger targets then, and charts obey two fingers.
    ...(size === 'phone' ? { hasTouch: true, isMobile: true, deviceScaleFactor: 2 } : {}),
    colorScheme: scheme,
    reducedMotion: 'reduce',
    locale,
    timezoneId: 'Europe/Zurich',
    acceptDownloads: true,
  });
  const page = await context.newPage();
  followRequests(page);
  page.setDefaultTimeout(30_000);
  const trouble: Trouble = { found: [], expected: [] };
  const allowed = (text: string): boolean => trouble.expected.some((part) => text.includes(part));
  page.on('console', (message) => {
    if (message.type() === 'error' && !allowed(message.location().url)) {
      trouble.found.push(`console: ${message.text()} (${message.location().url})`);
    }
  });
  page.on('pageerror', (error) => trouble.found.push(`exception: ${error.message}`));
  page.on('requestfailed', (request) => {
    // A page that is left cancels what it asked for; that is no failure.
    if (request.failure()?.errorText !== 'net::ERR_ABORTED') trouble.found.push(`failed: ${request.url()}`);
  });
  page.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(address) && !url.startsWith('blob:') && !url.startsWith('data:')) {
      trouble.found.push(`asked elsewhere: ${url}`);
    }
  });
  page.on('response', (response) => {
    if (response.status() >= 400 && !allowed(response.url())) {
      trouble.found.push(`${response.status()}: ${response.request().method()} ${response.url()}`);
    }
  });
  return { context, page, trouble };
}

const inFlight = new WeakMap<Page, Set<Request>>();

/** Keeps the requests of a page that have not been answered; a stream of events is never done and does not count. */
function followRequests(page: Page): void {
  const open = new Set<Request>();
  inFlight.set(page, open);
  page.on('request', (request) => {
    if (request.resourceType() !== 'eventsource') open.add(request);
  });
  page.on('requestfinished', (request) => open.delete(request));
  page.on('requestfailed', (request) => open.delete(request));
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

interface AxeViolation {
  readonly id: string;
  readonly impact: string | null;
  readonly nodes: readonly { readonly target: readonly unknown[]; readonly failureSummary?: string }[];
}

/**
 * What axe-core finds serious or critical on the page, one line each; empty where there is nothing. `only` keeps to
 * some of its rules.
 */
export async function seriousFindings(page: Page, only?: readonly string[]): Promise<string[]> {
  // Through the debugger and not as a script of the page, because the page's policy allows no inline script.
  if (!(await page.evaluate(`'axe' in window`))) await page.evaluate(axeSource);
  const options = JSON.stringify({
    resultTypes: ['violations'],
    ...(only === undefined ? {} : { runOnly: { type: 'rule', values: only } }),
  });
  const violations = (await page.evaluate(
    `axe.run(document, ${options}).then((r) => JSON.parse(JSON.stringify(r.violations)))`,
  )) as AxeViolation[];
  return violations
    .filter((v) => v.impact === 'serious' || v.impact === 'critical')
    .map(
      (v) =>
        `${v.id}: ${v.nodes
          .map((n) => n.target.join(' '))
          .slice(0, 4)
          .join(' | ')} (${v.nodes[0]?.failureSummary?.split('\n')[1]?.trim() ?? ''})`,
    );
}

/**
 * By how many pixels the page is wider than the screen. Not against `innerWidth`: on a phone that grows with the page,
 * which is zoomed out to fit.
 */
export async function pixelsTooWide(page: Page): Promise<number> {
  const screen = page.viewportSize();
  if (screen === null) throw new Error('The page has no size.');
  return Number(await page.evaluate('document.documentElement.scrollWidth')) - screen.width;
}

/** Waits until nothing is being fetched and nothing says that it is waiting. */
export async function settled(page: Page): Promise<void> {
  const open = inFlight.get(page) ?? new Set();
  const ready = `document.querySelector('h1') !== null && document.querySelector('.waiting') === null &&
    document.querySelector('main')?.getAttribute('aria-busy') !== 'true'`;
  for (let tries = 0; !(await page.evaluate(ready)); tries++) {
    if (tries > 600) throw new Error(`The page ${page.url()} still says that it waits.`);
    await page.waitForTimeout(50);
  }
  // Quiet for a while, because one answer may lead to the next question.
  for (let quiet = 0; quiet < 4; quiet = open.size === 0 ? quiet + 1 : 0) await page.waitForTimeout(40);
}
