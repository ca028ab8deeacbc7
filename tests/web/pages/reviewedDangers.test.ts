import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { logStudy } from '../../support/stackLog.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** A number on an axis and where it stands. */
interface Tick {
  readonly value: number;
  readonly at: number;
  /** What the last digit written is worth. */
  readonly digit: number;
}

describe.skipIf(withoutBrowser)('what could mislead on the pages of the demonstration', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  const get = <T>(path: string) => ask<T>(service.address, path);
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

  it('a kept study recommends no rate at a temperature that was not measured, and neither does its report', async () => {
    interface Stack {
      readonly cells: readonly { readonly cellId: number; readonly serial: string }[];
    }
    const { cells } = await get<Stack>('/stacks/1');
    const drawn = logStudy();
    const { id } = await ask<{ id: number }>(service.address, '/charge-studies', {
      name: 'measured at one temperature',
      cellIds: cells.map(({ cellId }) => cellId),
      description: {
        ...drawn,
        converter: undefined,
        cells: drawn.cells.map((cell, i) => ({ ...cell, name: cells[i].serial, temperatureC: undefined })),
        questions: { rateTable: { temperatureC: [0, 10, 25], resistanceGrowth: [0, 1] } },
      },
    });
    const state = async () => (await get<{ state: string }>(`/charge-studies/${id}`)).state;
    await expect.poll(state, { timeout: 60_000 }).toBe('done');
    for (const path of [`/charge-studies/${id}`, `/charge-studies/${id}/report`]) {
      await open(path);
      const rows = await page
        .locator('[aria-label="Recommended rates"] tbody tr')
        .evaluateAll((all) => all.map((row) => [...row.querySelectorAll('td')].map((td) => td.textContent)));
      expect(rows.length, path).toBe(6);
      // Temperature, growth, rate, what holds it, remark.
      for (const [temperature, , rate, , remark] of rows.filter(([t]) => Number(t) < 25)) {
        expect([path, temperature, rate]).toEqual([path, temperature, 'not known']);
        expect(remark).toMatch(/warmer temperatures only/);
      }
    }
  });

  it('undoing an import says first which stacks and pairings rest on it, they say so afterwards, and it can be taken back', async () => {
    await open('/import');
    await page.getByRole('button', { name: 'Undo the import of cycling.csv' }).click();
    const asked = page.getByRole('region', { name: 'Undo the import of cycling.csv' });
    await asked.getByText(/Stack 3/).waitFor();
    const state = async () =>
      (await get<{ items: { fileName: string; state: string }[] }>('/imports?limit=500')).items.find(
        ({ fileName }) => fileName === 'cycling.csv',
      )?.state;
    // Nothing is undone before it is confirmed.
    expect(await state()).toBe('taken');
    await asked.getByRole('button', { name: 'Undo import' }).click();
    await expect.poll(state, { timeout: 30_000 }).toBe('undone');
    await open('/stacks/3');
    expect(await page.getByText(/Capacity of QM018: −\d/).count()).toBe(0);
    await open('/import');
    await page.getByRole('button', { name: 'Restore the import of cycling.csv' }).click();
    await expect.poll(state, { timeout: 30_000 }).toBe('taken');
    await open('/stacks/3');
    await page
      .getByText(/Capacity of QM018: −\d/)
      .first()
      .waitFor();
  });

  it('the numbers on the axes of a chart stand where they say, in even steps', async () => {
    const wrong: string[] = [];
    for (const path of ['/lots/1', '/pairings/1', '/charge-studies/1', '/ageing', '/stacks/3']) {
      await open(path);
      if (path === '/lots/1') await page.locator('.judgement summary').first().click();
      const buttons = page.getByRole('button', { name: 'Download as SVG' });
      const count = Math.min(await buttons.count(), 4);
      expect(count, path).toBeGreaterThan(0);
      for (let i = 0; i < count; i++) {
        const file = page.waitForEvent('download');
        await buttons.nth(i).click();
        const svg = readFileSync(await (await file).path(), 'utf8');
        for (const ticks of axesOf(svg)) {
          const [first, last] = [ticks[0], ticks[ticks.length - 1]];
          const step = (last.value - first.value) / (ticks.length - 1);
          ticks.forEach((tick, k) => {
            const even = first.value + k * step;
            const place =
              first.at + ((last.at - first.at) * (tick.value - first.value)) / (last.value - first.value);
            const worth = Math.abs((last.at - first.at) / (last.value - first.value)) * tick.digit;
            if (Math.abs(tick.value - even) > tick.digit || Math.abs(tick.at - place) > 2 + worth)
              wrong.push(`${path}, chart ${i + 1}: ${ticks.map(({ value }) => value).join(' ')}`);
          });
        }
      }
    }
    expect([...new Set(wrong)]).toEqual([]);
  });

  it('whole numbers of cycles are written without decimal places, and features are offered in groups', async () => {
    const text: string[] = [];
    for (const path of ['/ageing', '/lots/1', '/cells/18', '/stacks/3']) {
      await open(path);
      text.push((await page.getByRole('main').allInnerTexts()).join(' ').replaceAll('\n', ' '));
    }
    expect(text.join(' ').match(/\b[Cc]ycles? \d[\d,. ]*\.\d+\b/g)).toBeNull();
    await open('/pairings/new?lots=1');
    const groups = await page.getByLabel('Add a feature').locator('optgroup').count();
    const offered = await page.getByLabel('Add a feature').locator('option').count();
    // A list that fits a screen needs no groups.
    expect(groups > 1 || offered < 30, `${offered} features in ${groups} groups`).toBe(true);
  });

  it('leaves no error behind', () => {
    expect(trouble.found).toEqual([]);
  });
});

/** The numbers along the two axes of an SVG of a chart, in the order in which they stand. */
function axesOf(svg: string): Tick[][] {
  const texts = [
    ...svg.matchAll(/<text transform="matrix\(([^)]+)\)" x="([-\d.]+)" y="([-\d.]+)"[^>]*>([^<]+)<\/text>/g),
  ].flatMap(([, matrix, alongX, alongY, text]) => {
    const [a, b, c, d, e, f] = matrix.split(' ').map(Number);
    const x = a * Number(alongX) + c * Number(alongY) + e;
    const y = b * Number(alongX) + d * Number(alongY) + f;
    const plain = text.replaceAll(',', '').replace('−', '-');
    if (!/^-?\d+(\.\d+)?$/.test(plain)) return [];
    const digit = 10 ** -(plain.split('.')[1]?.length ?? 0);
    return [{ x, y, value: Number(plain), digit }];
  });
  const along = (same: 'x' | 'y', at: 'x' | 'y'): Tick[][] =>
    [...new Set(texts.map((text) => Math.round(text[same])))]
      .map((line) => texts.filter((text) => Math.round(text[same]) === line))
      .map((group) => group.map((text) => ({ value: text.value, at: text[at], digit: text.digit })))
      .map((group) => group.toSorted((a, b) => a.at - b.at))
      .filter((group) => group.length >= 3 && isMonotone(group.map(({ value }) => value)));
  return [...along('y', 'x'), ...along('x', 'y')];
}

function isMonotone(values: readonly number[]): boolean {
  const steps = values.slice(1).map((value, i) => Math.sign(value - values[i]));
  return steps.every((step) => step === steps[0] && step !== 0);
}
