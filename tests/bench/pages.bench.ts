import { gzipSync } from 'node:zlib';
import type { Browser, Page } from 'playwright-core';
import { chromiumPath, openBrowser, openPage, settled } from '../web/pages/browser.ts';
import { ask } from '../web/pages/demonstrationJob.ts';
import { type RunningService, startService } from '../web/pages/service.ts';
import type { Bench, BenchResult, BenchRow } from './harness.ts';
import { median, shareOf } from './harness.ts';
import { cellTable, millionRows } from './support/pageFiles.ts';

const rounds = shareOf(5);

/** The budgets of the pages, measured in the system's browser on the real service. There is no peer, so no ratio. */
const bench: Bench = {
  name: 'pages',
  async run(): Promise<BenchResult> {
    const base = { name: 'pages', title: 'Budgets of the pages', ratio: null, against: 'no peer' };
    if (chromiumPath === null) {
      return { ...base, rows: [], missing: 'Chromium; to install it: apt-get install chromium' };
    }
    const service = await startService({ demonstration: false });
    const browser = await openBrowser();
    try {
      const ids = await fill(service);
      const first = await firstPage(browser, service.address);
      const frames = await scrolling(browser, service.address, ids.lot);
      const record = await bigRecord(browser, service.address, ids.test);
      const rows: BenchRow[] = [
        { who: 'first page interactive, CPU ×4 slower', medianS: first.interactiveS, note: 'budget 1500 ms' },
        { who: 'longest frame, scrolling 5,000 cells', medianS: frames.longestS, note: 'budget 50 ms' },
        { who: 'a record of 1,000,000 rows appears', medianS: record.appearsS, note: 'budget 500 ms' },
        { who: 'and zooms', medianS: record.zoomsS, note: 'budget 200 ms' },
      ];
      return {
        ...base,
        rows,
        remarks: [
          `first page: ${(first.bytes / 1000).toFixed(0)} kB of compressed JavaScript (budget 300 kB) in ${first.files} files`,
          `scrolling: ${frames.count} frames in ${rounds} rounds, ${frames.slow} above 50 ms`,
        ],
      };
    } finally {
      await browser.close();
      await service.stop();
    }
  },
};
export default bench;

interface Named {
  readonly id: number;
}

/** A lot of 5,000 cells with values, and one record of a million rows. */
async function fill({ address }: RunningService): Promise<{ lot: number; test: number }> {
  const { items } = await ask<{ items: (Named & { name: string })[] }>(address, '/chemistries');
  const type = await ask<Named>(address, '/cell-types', {
    name: 'bench',
    chemistryId: items[0].id,
    ratedCapacityAh: 2.2,
  });
  const lot = await ask<Named>(address, '/lots', { name: 'bench', cellTypeId: type.id });
  await importText(address, 'cells.csv', cellTable(5000), { lot: 'bench', kind: 'cell-table' });
  await importText(address, 'record.csv', millionRows(), {
    lot: 'bench',
    kind: 'record',
    cell: 'B00001',
    testKind: 'cycling',
  });
  const tests = await ask<{ items: Named[] }>(address, '/tests');
  return { lot: lot.id, test: tests.items[0].id };
}

async function importText(address: string, name: string, text: string, options: object): Promise<void> {
  const response = await fetch(`${address}/api/v1/imports`, {
    method: 'POST',
    headers: {
      'content-type': 'text/csv',
      'x-file-name': name,
      'x-import-options': encodeURIComponent(JSON.stringify(options)),
    },
    body: text,
  });
  const { id } = (await response.json()) as Named;
  for (let i = 0; i < 600; i++) {
    const job = await ask<{
      state: string;
      error: string | null;
      result: { reports: { state: string }[] } | null;
    }>(address, `/jobs/${id}`);
    if (job.state === 'done' && job.result?.reports[0]?.state === 'taken') return;
    if (job.state !== 'waiting' && job.state !== 'running') {
      throw new Error(`${name} was not taken: ${JSON.stringify(job.error ?? job.result)}`);
    }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error(`${name} was not taken within a minute.`);
}

/** Compressed size of the scripts of the first page, and when it answers on a processor four times slower. */
async function firstPage(browser: Browser, address: string) {
  const times: number[] = [];
  let bytes = 0;
  let files = 0;
  for (let round = 0; round < rounds; round++) {
    const { page, context } = await openPage(browser, address, 'desk', 'light');
    const session = await context.newCDPSession(page);
    await session.send('Emulation.setCPUThrottlingRate', { rate: 4 });
    const scripts: Promise<Buffer>[] = [];
    page.on('response', (response) => {
      if (response.request().resourceType() === 'script') scripts.push(response.body());
    });
    await page.goto('/');
    await page.locator('main h1').waitFor();
    // Interactive: the heading is there and the main thread has come to rest.
    const at = (await page.evaluate(
      'new Promise((done) => requestIdleCallback(() => done(performance.now())))',
    )) as number;
    times.push(at / 1000);
    if (round === 0) {
      const bodies = await Promise.all(scripts);
      files = bodies.length;
      bytes = bodies.reduce((sum, body) => sum + gzipSync(body).length, 0);
    }
    await context.close();
  }
  return { interactiveS: median(times), bytes, files };
}

/**
 * Frames while the table of a lot is scrolled from its first to its last row: the longest of each round, and of these
 * the median, because a single frame also waits for whatever else the machine does.
 */
async function scrolling(browser: Browser, address: string, lot: number) {
  const longest: number[] = [];
  let count = 0;
  let slow = 0;
  for (let round = 0; round < rounds; round++) {
    const frames = await scrollOnce(browser, address, lot);
    longest.push(Math.max(...frames) / 1000);
    count += frames.length;
    slow += frames.filter((f) => f > 50).length;
  }
  return { longestS: median(longest), count, slow };
}

async function scrollOnce(browser: Browser, address: string, lot: number): Promise<number[]> {
  const { page, context } = await openPage(browser, address, 'desk', 'light');
  await page.goto(`/lots/${lot}`);
  await settled(page);
  const frames = (await page.evaluate(`new Promise((done) => {
    const sheet = document.querySelector('section.sheet');
    const frames = [];
    let last = performance.now();
    let step = 0;
    const next = (now) => {
      frames.push(now - last);
      last = now;
      if (step++ >= 180) return done(frames.slice(2));
      sheet.scrollTop = (sheet.scrollHeight * step) / 180;
      requestAnimationFrame(next);
    };
    requestAnimationFrame(next);
  })`)) as number[];
  await context.close();
  return frames;
}

/** From the click on a test to its drawn record, and from a click on "zoom in" to the finer one. */
async function bigRecord(browser: Browser, address: string, test: number) {
  const appears: number[] = [];
  const zooms: number[] = [];
  for (let round = 0; round < rounds; round++) {
    const { page, context } = await openPage(browser, address, 'desk', 'light');
    // Once, so that only the record and not the page's own files are waited for.
    await page.goto(`/tests/${test}`);
    await settled(page);
    await page.getByRole('link', { name: /^3 Tests/ }).click();
    await page.getByRole('main').getByRole('table').getByRole('link').first().waitFor();
    appears.push(await untilDrawn(page, 'main table a', 'data-points'));
    await settled(page);
    zooms.push(await untilDrawn(page, 'figure button[aria-label="Zoom in"]', 'data-points'));
    await context.close();
  }
  return { appearsS: median(appears), zoomsS: median(zooms) };
}

/** Seconds from a click until the first chart carries another drawing than before. */
async function untilDrawn(page: Page, selector: string, mark: string): Promise<number> {
  const before = await page.evaluate(`document.querySelector('canvas')?.getAttribute('${mark}') ?? ''`);
  return (await page.evaluate(`new Promise((done) => {
    const start = performance.now();
    const look = () => {
      const now = document.querySelector('canvas')?.getAttribute('${mark}') ?? '';
      if (now !== '' && now !== ${JSON.stringify(before)}) {
        requestAnimationFrame(() => done((performance.now() - start) / 1000));
      } else requestAnimationFrame(look);
    };
    document.querySelector(${JSON.stringify(selector)}).click();
    look();
  })`)) as number;
}
