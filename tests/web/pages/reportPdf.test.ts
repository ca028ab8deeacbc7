import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { projectRoot } from '../../../server/projectRoot.ts';
import { draftChargeStudy } from '../../../server/use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy } from '../../../server/use-cases/charging/keepChargeStudy.ts';
import { runChargeStudy } from '../../../server/use-cases/charging/runChargeStudy.ts';
import { type FilledStore, fillStore } from '../../server/exportStore.ts';
import { isMissing } from '../../support/required.ts';
import { openTestApp, type TestApp } from '../../support/testApp.ts';
import {
  chromiumPath,
  openBrowser,
  openPage,
  pixelsTooWide,
  seriousFindings,
  settled,
  type Trouble,
} from './browser.ts';

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
    await page.pdf({
      path: file,
      format: 'A4',
      printBackground: true,
      margin: { top: '12mm', bottom: '12mm', left: '12mm', right: '12mm' },
    });
    const read = spawnSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
    const info = spawnSync('pdfinfo', [file], { encoding: 'utf8' });
    expect(read.status).toBe(0);
    return {
      pages: read.stdout.split('\f').slice(0, -1),
      text: read.stdout,
      paper: /Page size:\s*([0-9.]+ x [0-9.]+)/.exec(info.stdout)?.[1] ?? '',
    };
  }

  /** Charts and tables that reach beyond the paper and would be cut off. */
  async function cutOff(): Promise<string[]> {
    await page.emulateMedia({ media: 'print' });
    // 210 mm less two margins of 12 mm, at 96 pixels to the inch.
    await page.setViewportSize({ width: Math.floor((186 / 25.4) * 96), height: 1000 });
    // The drawings follow the width of the page in their own time.
    await page.waitForTimeout(400);
    const wide = await page.evaluate(() =>
      [...document.querySelectorAll('.report canvas, .report table, .report p, .report pre')]
        .map((element) => ({ tag: element.tagName, right: element.getBoundingClientRect().right }))
        .filter(({ right }) => right > window.innerWidth + 1)
        .map(({ tag, right }) => `${tag} to ${Math.round(right)}`),
    );
    await page.emulateMedia({ media: null });
    await page.setViewportSize({ width: 1280, height: 800 });
    return wide;
  }

  /** What every report holds: cautions, software, evaluations, and the hash of each file. */
  function expectOrigin(printed: Printed): void {
    for (const text of [
      'Watch the voltage of each cell, never only that of the stack.',
      'Where the numbers came from',
      'pulse record',
      'a'.repeat(30),
    ])
      expect(printed.text).toContain(text);
    expect(printed.paper).toMatch(/^59[45](\.\d+)? x 84[12]/);
    // Neither the list of pages nor a button comes onto the paper.
    for (const text of ['Charge studies\n', 'Print or save as PDF', 'PNG'])
      expect(printed.text).not.toContain(text);
    expect(printed.pages.every((text) => text.trim() !== '')).toBe(true);
  }

  it('of a lot holds the judgement of each column, every cell with its values, cautions and origin', async () => {
    const printed = await print(`/lots/${filled.lotId}/report`, 'lot');
    expectOrigin(printed);
    for (const text of [
      'Report of the lot Los "A", Teil 1/2',
      'Capacity, 25 °C: median 1.975 Ah',
      'Capacity, 25 °C: histogram',
      'B-002',
      'C-003',
      '2.0000 ± 0.0020 Ah',
      '31.00 ± 0.10 mΩ',
    ])
      expect(printed.text).toContain(text);
    expect(await cutOff()).toEqual([]);
    expect(trouble.found).toEqual([]);
  });

  it('of a pairing holds criteria, proof, pairs, comparison, cautions and origin', async () => {
    const printed = await print(`/pairings/${filled.pairingId}/report`, 'pairing');
    expectOrigin(printed);
    for (const text of [
      'Criteria',
      'importance × (difference / tolerance)²',
      'resistance/10s',
      'Proven best.',
      '−2.48 mΩ',
      'By chance, on',
    ])
      expect(printed.text).toContain(text);
    expect(await cutOff()).toEqual([]);
    expect(trouble.found).toEqual([]);
  });

  it('is dark ink on white paper, also where the screen is dark', async () => {
    const dark = await openPage(browser, new URL(page.url()).origin, 'desk', 'dark');
    await dark.page.goto(`/lots/${filled.lotId}/report`);
    await settled(dark.page);
    const colours = () =>
      dark.page.evaluate(() => [
        getComputedStyle(document.querySelector('.report h1') as Element).color,
        getComputedStyle(document.body).backgroundColor,
      ]);
    expect(await colours()).toEqual(['rgb(231, 228, 216)', 'rgb(22, 27, 34)']);
    await dark.page.emulateMedia({ media: 'print' });
    expect(await colours()).toEqual(['rgb(29, 38, 54)', 'rgb(255, 255, 255)']);
    await dark.context.close();
  });

  it.each(['lots', 'pairings'] as const)(
    'is no wider than a phone on the screen and accessible: %s',
    async (kind) => {
      const phone = await openPage(browser, new URL(page.url()).origin, 'phone', 'light');
      await phone.page.goto(`/${kind}/${kind === 'lots' ? filled.lotId : filled.pairingId}/report`);
      await settled(phone.page);
      expect(await pixelsTooWide(phone.page)).toBeLessThanOrEqual(0);
      expect(await seriousFindings(phone.page)).toEqual([]);
      expect(phone.trouble.found).toEqual([]);
      await phone.context.close();
    },
  );

  it('of a charge study holds what was asked, the figures, its own cautions and origin', async () => {
    const { description } = await draftChargeStudy(test.context, { stackId: filled.stackId });
    const questions = { stackOnly: true, seriesStepS: 30 };
    const study = await keepChargeStudy(test.context, {
      name: 'Plan "A"',
      description: { ...description, questions },
      stackId: filled.stackId,
    });
    const { result } = await runChargeStudy(test.context, study.id);
    const printed = await print(`/charge-studies/${study.id}/report`, 'study');
    expectOrigin(printed);
    for (const text of [
      'Report of the charge study Plan "A"',
      '1 C, complete at 0.05 C, each cell watched, ambient 25 °C.',
      'partly common',
      'With only the stack voltage watched, a cell is overcharged here',
      `${result?.cells[0].peakVoltageV.toFixed(3)} V`,
      'What limited the current, and when',
    ])
      expect(printed.text).toContain(text);
    expect(await cutOff()).toEqual([]);
    expect(trouble.found).toEqual([]);
  });
});
