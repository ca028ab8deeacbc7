import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { openTestApp, type TestApp } from '../../support/testApp.ts';
import { chromiumPath, openBrowser, openPage, pixelsTooWide, seriousFindings } from './browser.ts';

const missing = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

describe.skipIf(missing)('the page that describes the HTTP interface', () => {
  let test: TestApp;
  let server: Server;
  let browser: Browser;
  let address: string;
  beforeAll(async () => {
    test = await openTestApp();
    server = await new Promise<Server>((resolve) => {
      const listening = test.app.listen(0, '127.0.0.1', () => resolve(listening));
    });
    address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    server?.closeAllConnections();
    await new Promise((resolve) => server?.close(resolve));
    await test?.close();
  });

  it.each([
    ['desk', 'light'],
    ['phone', 'dark'],
  ] as const)(
    'works at the size of a %s in %s: nothing asked elsewhere, nothing too wide, accessible',
    async (size, scheme) => {
      const { context, page, trouble } = await openPage(browser, address, size, scheme);
      await page.goto('/api/docs');
      await page.locator('#getLots > summary').click();
      expect(await page.locator('#getLots').getByText('cursor', { exact: true }).isVisible()).toBe(true);
      await page.locator('#getLots').getByRole('link', { name: 'LotPage' }).click();
      expect(new URL(page.url()).hash).toBe('#schema-LotPage');
      await page.locator('#schema-LotPage > summary').click();
      expect(await pixelsTooWide(page)).toBeLessThanOrEqual(0);
      expect(await seriousFindings(page)).toEqual([]);
      expect(trouble.found).toEqual([]);
      await context.close();
    },
  );
});
