import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

const truth = { r0Ohm: 0.01505, branches: [4.5e-3, 5.5e-3], tauS: [5, 60] } as const;

/** Discharge pulse, 40 s of rest, charge pulse, 40 s of rest, at three states of charge; rows of 0.1 s, noise of 0.2 mV. */
function shortRestRecord(): string {
  const rows = ['Test time (s),Voltage (V),Current (A)'];
  const held = [0, 0];
  let state = 7;
  let t = 0;
  let soc = 0.9;
  const step = (seconds: number, stepS: number, currentA: number) => {
    for (let s = 0; s < Math.round(seconds / stepS); s++) {
      t += stepS;
      soc += (currentA * stepS) / 3600 / 3;
      truth.branches.forEach((ohm, i) => {
        const decay = Math.exp(-stepS / truth.tauS[i]);
        held[i] = held[i] * decay + currentA * ohm * (1 - decay);
      });
      state = (1664525 * state + 1013904223) % 4294967296;
      const noise = 2e-4 * (state / 2147483648 - 1);
      const volts = 3.4 + 0.7 * soc + currentA * truth.r0Ohm + held[0] + held[1] + noise;
      rows.push(`${t.toFixed(1)},${volts.toFixed(5)},${currentA.toFixed(3)}`);
    }
  };
  for (let pulse = 0; pulse < 3; pulse++) {
    step(600, 2, 0);
    step(10, 0.1, -3);
    step(40, 0.1, 0);
    step(10, 0.1, 3);
    step(40, 0.1, 0);
    step(720, 5, -3);
  }
  return `${rows.join('\n')}\n`;
}

const table = [
  'serial,capacity (Ah),ACIR 1 kHz (mOhm),colour',
  ...Array.from({ length: 12 }, (_, i) => {
    const ohm = i === 9 ? 16.51 : 13.5 + 0.02 * ((i * 7) % 11);
    return `P3-${String(i + 1).padStart(3, '0')},${(3 + 0.004 * ((i * 5) % 12)).toFixed(3)},${ohm.toFixed(2)},red`;
  }),
].join('\n');

interface Pulse {
  readonly direction: string;
  readonly circuit: { readonly branches: number; readonly r0Ohm: number } | null;
}

describe.skipIf(withoutBrowser)('what could lead to a wrong number is said where it is read', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-dangerous-'));
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  const get = <T>(path: string) => ask<T>(service.address, path);
  const write = (name: string, text: string) => {
    writeFileSync(join(folder, name), text);
    return join(folder, name);
  };
  const card = (name: string) => page.getByRole('region', { name });
  const importAll = async (files: readonly string[]) => {
    await page.setInputFiles('input[type=file]', [...files]);
    await page
      .getByText('○ ready')
      .nth(files.length - 1)
      .waitFor();
  };

  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
    ({ page, trouble } = await openPage(browser, service.address, 'desk', 'light'));
    await page.goto('/import');
    await addLot(page, { type: 'P3', ratedAh: '3', limitV: '4.2', cutoffV: '2.5', lot: 'delivery' });
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  it('names each column of a file that is not used before the file is taken', async () => {
    await importAll([write('cells.csv', table)]);
    await card('cells.csv').getByText('columns not used: "colour"').waitFor();
    await page.getByRole('button', { name: /^Import the file/ }).dblclick();
    await page.getByText('● imported').waitFor();
    expect(await get('/imports')).toMatchObject({ total: 1 });
  });

  it('lets a capacity that no cell of the type holds count for nothing, and says so before the import and at the cell', async () => {
    await page.getByRole('button', { name: 'Clear this list' }).click();
    await importAll([write('wrong.csv', 'serial,capacity (Ah)\nN-2,3000\n')]);
    await card('wrong.csv')
      .getByText(/capacity of N-2 in row 2 \(implausible/)
      .waitFor();
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();
    const { items } = await get<{ items: { id: number; serial: string }[] }>('/cells?search=N-2');
    await page.goto(`/cells/${items[0].id}`);
    await page
      .getByText(/1\.2 times the rated capacity|implausible|no cell holds/)
      .first()
      .waitFor();
    const statistics = await get<{ columns: { key: string; n: number }[] }>('/lots/1/statistics');
    expect(statistics.columns.find((c) => c.key.startsWith('capacity'))?.n).toBe(12);
  });

  it('imports files that wait into the lot that is chosen when they are imported', async () => {
    const [{ id: cellTypeId }] = (await get<{ items: { id: number }[] }>('/cell-types')).items;
    await ask(service.address, '/lots', { name: 'second', cellTypeId });
    await page.goto('/import?lot=delivery');
    await importAll([write('other.csv', 'serial,capacity (Ah)\nS-1,3.01\n')]);
    await card('other.csv').getByText('in the lot delivery').waitFor();
    await page.getByLabel('Lot the cells belong to').selectOption('second');
    await card('other.csv').getByText('in the lot second').waitFor();
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();
    expect(await get('/cells?search=S-1')).toMatchObject({ items: [{ lotName: 'second' }] });
  });

  it('does not import while a field holds what is not a number', async () => {
    await page.goto('/import?lot=second');
    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Temperature of the test, °C').fill('2x5');
    await importAll([write('third.csv', 'serial,capacity (Ah)\nS-2,3.02\n')]);
    await page.getByRole('button', { name: /^Import the file/ }).click();
    expect(
      await page.getByLabel('Temperature of the test, °C').evaluate('document.activeElement.value'),
    ).toBe('2x5');
    expect(await card('third.csv').getByText('○ ready').count()).toBe(1);
    await page.getByLabel('Temperature of the test, °C').fill('');
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();
  });

  it('starts a pairing from every measured quantity that matters, and leaves an outlier out by name', async () => {
    await page.goto('/pairings/new?lots=1');
    await page.getByRole('button', { name: 'Find the best pairing' }).waitFor();
    await settled(page);
    const compared = await page.locator('fieldset.feature legend').allInnerTexts();
    expect(compared.toSorted()).toEqual(['Capacity', '|Z| at 1 kHz']);
    await page.getByRole('button', { name: 'Find the best pairing' }).dblclick();
    await page.getByText(/cells are left over|cell is left over/).waitFor({ timeout: 60_000 });
    expect(await page.locator('p.answer').first().textContent()).toContain('P3-010');
    expect(await get('/pairings')).toMatchObject({ total: 1 });
  });

  it('shows the resistance of charge pulses after 40 s of rest as it is', async () => {
    await page.goto('/import?lot=delivery');
    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Serial of the cell', { exact: true }).fill('P3-001');
    await page.getByLabel('Kind of test').selectOption('pulse');
    await page.getByLabel(/SOC at the start|Start SOC/).fill('90');
    await importAll([write('P3-001.csv', shortRestRecord())]);
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await page.getByText('● imported').waitFor();
    await page.goto('/lots/1');
    await page.getByRole('button', { name: 'Evaluate now' }).dblclick();
    await page.getByText(/Evaluating the lot: done/).waitFor({ timeout: 60_000 });
    expect(await get('/jobs?kind=evaluate-lot')).toMatchObject({ total: 1 });
    const { evaluation } = await get<{ evaluation: { result: { pulses: Pulse[] } } }>('/tests/1/evaluation');
    const { pulses } = evaluation.result;
    expect(pulses.map((p) => p.direction)).toEqual([
      'discharge',
      'charge',
      'discharge',
      'charge',
      'discharge',
      'charge',
    ]);
    for (const { circuit } of pulses) {
      expect(circuit?.branches).toBeGreaterThan(0);
      expect(Math.abs((circuit?.r0Ohm ?? 0) / truth.r0Ohm - 1)).toBeLessThan(0.03);
    }
    await page.goto('/tests/1');
    await settled(page);
    const shown = page.locator('table').filter({ hasText: 'tau1' }).locator('tr');
    for (const row of (await shown.allInnerTexts()).slice(1)) {
      const [, , , r0] = row.split('\t');
      expect(Math.abs(Number.parseFloat(r0) / 15.05 - 1), row).toBeLessThan(0.03);
    }
    expect(await shown.count()).toBe(7);
    expect(trouble.found).toEqual([]);
  });

  it('says in German why a file is refused and what can be done on the page, and offers the exact English words apart', async () => {
    const german = await openPage(browser, service.address, 'desk', 'light', 'de-DE');
    await german.page.goto('/import?lot=delivery');
    await german.page.setInputFiles(
      'input[type=file]',
      write('runs.csv', 'Test time (s),Voltage (V),Current (A)\n0,3.7,0\n1,abc,0\n2,3.7,0\n'),
    );
    const problem = german.page.getByRole('region', { name: 'runs.csv' }).locator('.problem');
    await problem.getByText('Das ist keine Zahl. (gefunden: abc)').waitFor();
    expect(await problem.locator('p').first().textContent()).toContain(
      'Ändern, wie diese Datei gelesen wird',
    );
    expect(await problem.locator('details [lang=en]').count()).toBe(1);
    expect(await problem.locator('p').first().textContent()).not.toMatch(/--|number|Expected/);
    await german.context.close();
  });
});
