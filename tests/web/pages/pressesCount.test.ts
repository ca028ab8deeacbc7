import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

interface Listed {
  readonly items: readonly { readonly id: number; readonly name: string; readonly state: string }[];
  readonly total: number;
}

describe.skipIf(withoutBrowser)('what is pressed or entered counts, and counts once', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  const get = <T = Listed>(path: string) => ask<T>(service.address, path);
  const total = async (path: string) => (await get(path)).total;
  const press = (name: string | RegExp) => page.getByRole('button', { name, exact: true }).first();
  const open = async (path: string) => {
    await page.goto(path);
    await settled(page);
  };

  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'desk', 'light'));
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('says at the head of a cell with a warning sign that it is never offered for pairing', async () => {
    const { items } = await get('/cells?search=QM040');
    await open(`/cells/${items[0].id}`);
    await page.locator('.page-about').first().getByText('warning sign').waitFor();
    await open('/lots/1');
    await page.getByLabel('Filter', { exact: true }).fill('QM040');
    await page.locator('.state').filter({ hasText: 'available ▲ warning sign' }).waitFor();
  });

  it('keeps the notes of a draft in the kept study and on its report', async () => {
    await open('/charge-studies/new?stack=1');
    const notes = async () => {
      const said = page.locator('details').filter({ hasText: 'What this is based on' });
      await said.locator('summary').click();
      return said.locator('p').allInnerTexts();
    };
    await page.getByRole('region', { name: /^Result of/ }).waitFor();
    const drafted = await notes();
    expect(drafted.length).toBeGreaterThan(2);
    const before = await total('/charge-studies');
    await press('Keep the study and answer all questions').dblclick();
    await page.waitForURL(/\/charge-studies\/\d+$/);
    await page.locator('p.answer').first().waitFor({ timeout: 120_000 });
    expect(await total('/charge-studies')).toBe(before + 1);
    expect(await notes()).toEqual(expect.arrayContaining(drafted));
    await open(`${new URL(page.url()).pathname}/report`);
    const report = await page.getByRole('main').textContent();
    for (const note of drafted) expect(report).toContain(note);
  });

  it('does not save a form while one of its fields holds what is not a number', async () => {
    const [{ id }] = (await get('/cell-types')).items;
    const before = await get<{ massG: number | null; version: number }>(`/cell-types/${id}`);
    await open(`/cell-types?open=${id}`);
    await page.getByLabel('Mass, g').fill('41,5,2');
    await press('Save').click();
    expect(await get(`/cell-types/${id}`)).toMatchObject({ version: before.version, massG: before.massG });
    await page.getByLabel('Mass, g').fill('41,5');
    await press('Save').dblclick();
    await page.getByText(/is changed\./).waitFor();
    expect(await get(`/cell-types/${id}`)).toMatchObject({ version: before.version + 1, massG: 41.5 });
  });

  it('counts two decisions that follow each other faster than the service answers', async () => {
    await page.route('**/api/v1/pairs/*', async (route) => {
      await new Promise((resolve) => setTimeout(resolve, 600));
      await route.continue();
    });
    await open('/pairings/1');
    await press('Reject QM003 with QM006').click();
    await press('Reject QM004 with QM044').click();
    await expect
      .poll(
        async () => {
          const { pairs } = await get<{ pairs: { state: string }[] }>('/pairings/1');
          return pairs.filter((p) => p.state === 'rejected').length;
        },
        { timeout: 15_000 },
      )
      .toBe(2);
    // The second press is on the same pair, before the page has read again what the first one changed.
    await press('Take back the decision on QM003 with QM006').click();
    await press('Accept QM003 with QM006').click();
    await expect
      .poll(
        async () => {
          const { pairs } = await get<{ pairs: { id: number; state: string }[] }>('/pairings/1');
          return pairs.filter((p) => p.state === 'accepted').length;
        },
        { timeout: 15_000 },
      )
      .toBe(18);
    expect(await page.locator('.problem').count()).toBe(0);
    await page.unroute('**/api/v1/pairs/*');
  });

  it('keeps what is typed while the note before is being kept', async () => {
    await page.route('**/notes', async (route) => {
      if (route.request().method() === 'POST') await new Promise((resolve) => setTimeout(resolve, 500));
      await route.continue();
    });
    await open('/cells/1');
    await page.getByLabel('Add a note').fill('first');
    await press('Add note').click();
    await page.getByLabel('Add a note').fill('second');
    await page.locator('blockquote').getByText('first').waitFor();
    expect(await page.getByLabel('Add a note').inputValue()).toBe('second');
    await page.unroute('**/notes');
  });

  it('shows the evaluation of a lot that runs wherever one comes from, and names the lot in the list of jobs', async () => {
    await open('/lots/1');
    const before = await total('/jobs?kind=evaluate-lot');
    await press(/^Evaluate all \d+ tests again$/).dblclick();
    await page.getByText(/Evaluating the lot/).waitFor();
    await open('/jobs');
    await page
      .getByText(/QM-2200P delivery 7/)
      .first()
      .waitFor();
    await open('/lots/1');
    await page.getByText(/Evaluating the lot/).waitFor();
    expect(await press(/^Evaluate all|^Evaluate now/).count()).toBe(0);
    expect(await total('/jobs?kind=evaluate-lot')).toBe(before + 1);
  });

  it('goes on by itself with the work of a service that ended in its middle and was started again', async () => {
    await service.end();
    trouble.expected.push('/api/v1/');
    await page.waitForTimeout(1000);
    await service.start();
    await expect
      .poll(async () => (await get('/jobs?kind=evaluate-lot')).items[0].state, { timeout: 120_000 })
      .toBe('done');
    await page
      .getByText(/Evaluating the lot: done/)
      .first()
      .waitFor({ timeout: 30_000 });
    await settled(page);
  });
});
