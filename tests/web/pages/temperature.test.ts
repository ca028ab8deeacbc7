import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

describe.skipIf(withoutBrowser)('the pages about temperature and fixture, on the demonstration lot', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('say that the law is out of date after a test was evaluated anew, until it is assessed again', async () => {
    await page.goto('/cell-types?rates=type+1');
    const law = page.getByRole('region', { name: 'Resistance over temperature' });
    await law.getByRole('img', { name: /^Resistance over temperature/ }).waitFor();
    expect(await law.getByText(/^Out of date/).count()).toBe(0);
    const { items } = await ask<{ items: { id: number; temperatureC: number }[] }>(
      service.address,
      '/tests?kind=pulse&limit=100',
    );
    const cold = items.find(({ temperatureC }) => temperatureC === -10);
    await ask(service.address, `/tests/${cold?.id}/evaluate`, {});
    await page.reload();
    await law.getByText(/^Out of date: since this was assessed \d+ resistances came in/).waitFor();
    await law.getByRole('button', { name: 'Assess it again' }).click();
    await law.getByText(/^Out of date/).waitFor({ state: 'detached' });
    expect(trouble.found).toEqual([]);
  });

  it('give the heat map of a cell as rows, with the hole of the cold test as one', async () => {
    await page.goto('/cells/1');
    const map = page.getByRole('figure', { name: 'R0 in mΩ over SOC and temperature, discharge' });
    await map.getByRole('button', { name: 'Show as a table' }).click();
    const rows = await map.getByRole('row').allInnerTexts();
    expect(rows[0].split('\t')).toEqual(['SOC, %', 'Temperature, °C', 'R0, mΩ']);
    expect(rows.filter((row) => row.includes('−10.0')).map((row) => row.split('\t')[2])).toEqual([
      '–',
      ...Array(4).fill(expect.stringMatching(/^3[5-8]\./)),
    ]);
  });

  it('judge the fixture by the repeated insertions and name the rule', async () => {
    await page.goto('/lots/1');
    await settled(page);
    await page.getByText(/^8 cells, each inserted 4 times\. Verdict on the fixture: limited\./).waitFor();
    await page.locator('summary').filter({ hasText: '|Z| at 1 kHz' }).click();
    await page.getByText(/^8 cells, each inserted 3 times\. Verdict on the fixture: good\./).waitFor();
    expect(await page.getByText(/AIAG, Measurement Systems Analysis/).count()).toBe(2);
    expect(trouble.found).toEqual([]);
  });
});
