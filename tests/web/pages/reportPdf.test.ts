import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { existsSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { projectRoot } from '../../../server/projectRoot.ts';
import { type FilledStore, fillStore } from '../../server/exportStore.ts';
import { isMissing } from '../../support/required.ts';
import { openTestApp, type TestApp } from '../../support/testApp.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';

const missing = [
  isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium'),
  isMissing('pdftotext', spawnSync('pdftotext', ['-v']).status === 0, 'apt-get install poppler-utils'),
  isMissing('web/dist', existsSync(join(projectRoot, 'web/dist/index.html')), 'npm run build'),
].some(Boolean);

/** What the browser printed: its text page by page, and the size of the paper in points. */
interface Printed {
  readonly pages: readonly string[];
  readonly text: string;
  readonly paper: string;
}

describe.skipIf(missing)('a report printed to PDF by the browser', () => {
  let test: TestApp;
  let server: Server;
  let browser: Browser;
  let folder: string;
  let page: Page;
  let trouble: Trouble;
  let filled: FilledStore;
  beforeAll(async () => {
    test = await openTestApp();
    filled = await fillStore(test.context);
    server = await new Promise<Server>((resolve) => {
      const listening = test.app.listen(0, '127.0.0.1', () => resolve(listening));
    });
    folder = mkdtempSync(join(tmpdir(), 'gemel-pdf-'));
    browser = await openBrowser();
    const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
    ({ page, trouble } = await openPage(browser, address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    server?.closeAllConnections();
    await new Promise((resolve) => server?.close(resolve));
    rmSync(folder, { recursive: true, force: true });
    await test?.close();
  });

  /** Prints a page on A4 with the browser's own printer and reads the file with a general PDF tool. */
  async function print(path: string, name: string): Promise<Printed> {
    await page.goto(path);
    await settled(page);
    const file = join(folder, `${name}.pdf`);
    await page.pdf({ path: file, format: 'A4', printBackground: true, margin: { top: '12mm', bottom: '12mm', left: '12mm', right: '12mm' } });
    const read = spawnSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
    const info = spawnSync('pdfinfo', [file], { encoding: 'utf8' });
    expect(read.status).toBe(0);
    return {
      pages: read.stdout.split('\f').slice(0, -1),
      text: read.stdout,
      paper: /Page size:\s*([0-9.]+ x [0-9.]+)/.exec(info.stdout)?.[1] ?? '',
    };
  }

  /** Elements wider than the paper, which a printer would cut off. */
  async function cutOff(): Promise<string[]> {
    await page.emulateMedia({ media: 'print' });
    await page.setViewportSize({ width: 703, height: 1000 });
    const wide = await page.evaluate(() =>
      [...document.querySelectorAll('main *')]
        .filter((element) => {
          const box = element.getBoundingClientRect();
          return box.width > 0 && box.right > window.innerWidth + 1;
        })
        .map((element) => `${element.tagName}.${element.className} ${Math.round(element.getBoundingClientRect().right)}`),
    );
    await page.emulateMedia({ media: null });
    await page.setViewportSize({ width: 1280, height: 800 });
    return wide;
  }

  it('of a lot holds its cells, figures and cautions, without the navigation, and nothing is cut off', async () => {
    const printed = await print(`/lots/${filled.lotId}`, 'lot');
    expect(printed.paper).toMatch(/^59[45](\.\d+)? x 84[12]/);
    for (const text of ['Los "A", Teil 1/2', 'B-002', 'C-003']) expect(printed.text).toContain(text);
    console.log(printed.text);
    expect(await cutOff()).toEqual([]);
    expect(trouble.found).toEqual([]);
  });

  it('of a pairing holds criteria, pairs, proof and cautions', async () => {
    const printed = await print(`/pairings/${filled.pairingId}`, 'pairing');
    console.log(printed.text);
    expect(await cutOff()).toEqual([]);
    expect(trouble.found).toEqual([]);
  });
});
