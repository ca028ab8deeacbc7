import { readFileSync } from 'node:fs';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, pixelsTooWide, settled, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

interface Listed {
  readonly items: readonly { readonly id: number; readonly name: string }[];
}

describe.skipIf(withoutBrowser)('what a reader stumbled over', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let trouble: Trouble;
  const get = <T = Listed>(path: string) => ask<T>(service.address, path);
  const open = async (path: string) => {
    await page.goto(path);
    await settled(page);
  };
  const saved = async (name: string, place = 0) => {
    const file = page.waitForEvent('download');
    await page.getByRole('button', { name }).nth(place).click();
    return (await file).path();
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

  it('a serial of 120 letters and a word of 500 in a note fold, and the page stays as wide as the screen', async () => {
    const [lot] = (await get('/lots')).items;
    const cell = await ask<{ id: number }>(service.address, '/cells', {
      lotId: lot.id,
      serial: 'L'.repeat(120),
    });
    await ask(service.address, `/cells/${cell.id}/notes`, { text: 'w'.repeat(500) });
    for (const path of [`/cells/${cell.id}`, '/cells', `/lots/${lot.id}`]) {
      await open(path);
      expect(await pixelsTooWide(page), path).toBeLessThanOrEqual(0);
    }
    await open(`/cells/${cell.id}`);
    await page.locator('blockquote').getByText('w'.repeat(500)).waitFor();
  });

  it('small tables are shown whole: their last rows are not hidden in the middle of a line', async () => {
    for (const path of ['/charge-studies/1', '/pairings/1', '/ageing', '/cell-types?rates=chemistry+1']) {
      await open(path);
      const hidden = await page.locator('.small-sheet').evaluateAll((sheets) =>
        sheets
          .filter((sheet) => sheet.querySelectorAll('tbody tr').length <= 25)
          .filter((sheet) => sheet.scrollHeight > sheet.clientHeight + 2)
          .map((sheet) => sheet.getAttribute('aria-label')),
      );
      expect(hidden, path).toEqual([]);
    }
  });

  it('tests can be distinguished: each row of their list and each title names its cell', async () => {
    await open('/tests');
    const rows = await page.locator('section.sheet tbody tr').allInnerTexts();
    const filled = rows.filter((row) => row.trim() !== '');
    expect(filled.length).toBeGreaterThan(10);
    for (const row of filled) expect(row).toMatch(/QM\d{3}/);
    await open('/tests/1');
    expect(await page.locator('.page-head').first().textContent()).toMatch(/QM\d{3}/);
  });

  it('a picture file is 1,600 pixels wide and has the title of the chart inside, as PNG and as SVG', async () => {
    await open('/ageing');
    const png = readFileSync(await saved('Download as PNG'));
    expect(png.readUInt32BE(16)).toBe(1600);
    const svg = readFileSync(await saved('Download as SVG'), 'utf8');
    expect(svg).toMatch(/<svg[^>]* width="1600"/);
    expect(svg).toContain('>All cells</text>');
    for (const name of ['QM001', 'QM018', 'Capacity, Ah', 'Cycle']) expect(svg).toContain(`>${name}</text>`);
    await open('/cells/1');
    expect(readFileSync(await saved('Download as SVG', 1), 'utf8')).toMatch(
      /R0 in mΩ over SOC and temperature/,
    );
    // Each is a document that the browser itself reads as a picture.
    const whole = await page.evaluate(
      `new DOMParser().parseFromString(${JSON.stringify(svg)}, 'image/svg+xml').querySelector('parsererror')`,
    );
    expect(whole).toBeNull();
  });

  it('titles and labels of a chart lie inside the sheet they are drawn on', async () => {
    for (const path of ['/ageing', '/pairings/1', '/charge-studies/1', '/lots/1']) {
      await open(path);
      const count = await page.getByRole('button', { name: 'Download as SVG' }).count();
      for (let i = 0; i < Math.min(count, 3); i++) {
        const svg = readFileSync(await saved('Download as SVG', i), 'utf8');
        const outside = (await page.evaluate(`(() => {
          const frame = document.createElement('div');
          frame.innerHTML = ${JSON.stringify(svg)};
          document.body.append(frame);
          const sheet = frame.firstElementChild.getBoundingClientRect();
          const out = [...frame.querySelectorAll('text')].filter((text) => {
            const box = text.getBoundingClientRect();
            return box.left < sheet.left - 1 || box.right > sheet.right + 1 || box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1;
          }).map((text) => text.textContent);
          frame.remove();
          return out;
        })()`)) as string[];
        expect(outside, `${path}, chart ${i + 1}`).toEqual([]);
      }
    }
  });

  it('a number field reads what is pasted whole or refuses it, and never takes a part of it', async () => {
    const field = page.getByLabel('Mass, g');
    for (const [pasted, read] of [
      ['1e3', 1000],
      ['2,5e-1', 0.25],
      ['3,05', 3.05],
      ['3000 mAh', null],
      ['1.2.3', null],
    ] as const) {
      await open('/cell-types?open=1');
      await field.fill(pasted);
      expect(await field.inputValue()).toBe(pasted);
      const valid = await field.evaluate((input: HTMLInputElement) => input.validity.valid);
      expect(valid, pasted).toBe(read !== null);
      if (read === null) continue;
      const before = await get<{ version: number }>('/cell-types/1');
      await page.getByRole('button', { name: 'Save', exact: true }).click();
      await expect
        .poll(async () => (await get<{ version: number }>('/cell-types/1')).version)
        .toBe(before.version + 1);
      expect(await get('/cell-types/1')).toMatchObject({ massG: read });
    }
  });

  it('the list of quantities to pair by says of each under which condition and from how many cells', async () => {
    await open('/pairings/new?lots=1');
    const offered = await page.getByLabel('Add a feature').locator('option').allInnerTexts();
    expect(offered.length).toBeGreaterThan(3);
    for (const text of offered.slice(1)) expect(text).toMatch(/\(\d+ cells?\)$/);
    expect(new Set(offered).size).toBe(offered.length);
  });

  it('what is missing is named in the title of the page, and a stack is not called stack twice', async () => {
    trouble.expected.push('/999');
    await open('/stacks/1');
    expect(await page.title()).toMatch(/^Stack 1\b/);
    expect(await page.getByRole('main').textContent()).not.toMatch(/Stack Stack/);
    for (const path of ['/lots/999', '/stacks/999', '/cells/999', '/tests/999']) {
      await page.goto(path);
      await page.locator('.problem').first().waitFor();
      expect(await page.title(), path).toMatch(/not found|There is no|does not exist|Not there/i);
    }
  });

  it('the page and the report of a study say what was asked', async () => {
    for (const path of ['/charge-studies/1', '/charge-studies/1/report']) {
      await open(path);
      const text = (await page.getByRole('main').textContent()) ?? '';
      expect(text, path).toContain('1 C, complete at 0.05 C, each cell watched, ambient 25 °C');
    }
  });

  it('a new study begins from a kept one with everything that was entered', async () => {
    await open('/charge-studies/1');
    await page.getByRole('link', { name: 'New from this' }).click();
    await page.getByText('Begins from the study').waitFor();
    await page.getByRole('region', { name: /^Result of/ }).waitFor();
    await page.getByLabel('SOC at the start, %').fill('20');
    await settled(page);
    await page.getByRole('button', { name: 'Keep the study and answer all questions' }).dblclick();
    await page.waitForURL(/\/charge-studies\/\d+$/);
    interface Kept {
      readonly description: { readonly cells: { readonly startSoc: number }[]; readonly phases: unknown };
    }
    const [first, second] = [await get<Kept>('/charge-studies/1'), await get<Kept>('/charge-studies/2')];
    expect(second.description.phases).toEqual(first.description.phases);
    expect(second.description.cells.map((c) => c.startSoc)).toEqual([0.2, 0.2]);
  });

  it('several pairs are decided at once, and a pair says in one sentence why it is one', async () => {
    await open('/pairings/1');
    const choose = page.getByRole('checkbox', { name: /^Choose / });
    await choose.nth(0).check();
    await choose.nth(1).check();
    await page.getByRole('button', { name: 'Reject the chosen pairs' }).dblclick();
    await page.getByText('2 pairs: rejected.').waitFor();
    const states = async () =>
      (await get<{ pairs: { state: string }[] }>('/pairings/1')).pairs.filter((p) => p.state === 'rejected');
    expect(await states()).toHaveLength(2);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await states()).length).toBe(0);
    await page.getByRole('button', { name: 'QM003 with QM006', exact: true }).click();
    await page
      .getByRole('status')
      .filter({ hasText: /^QM003 and QM006 go together because they differ by .* mAh in capacity/ })
      .first()
      .waitFor();
  });

  it('the label of a stack has its serial as text and code, its cells with their polarity, and the traveller comes back as measurements of its cells', async () => {
    await open('/stacks/3');
    await page.getByLabel('Label size').selectOption({ label: '63 × 38 mm' });
    await page.emulateMedia({ media: 'print' });
    const label = page.locator('.label');
    expect(await label.textContent()).toMatch(/Stack 3⊖ 1: QM018 – 2: QM034 ⊕/);
    const box = await label.boundingBox();
    expect(Math.round(((box?.width ?? 0) / 96) * 25.4)).toBe(63);
    expect(await label.getByRole('img', { name: 'Code with the serial of the stack' }).count()).toBe(1);
    await page.emulateMedia({ media: 'screen' });
    await page.getByText('Enter the results of the traveller').click();
    const form = page.getByRole('form', { name: 'Enter the results of the traveller' });
    await form.getByLabel('Serial read from cell 1').fill('QM034');
    await form.getByText('The stack has QM018 at place 1; QM034 was read.').waitFor();
    expect(await form.getByRole('button', { name: 'Keep the results' }).isDisabled()).toBe(true);
    await form.getByLabel('Serial read from cell 1').fill('QM018');
    await form.getByLabel('Open-circuit voltage of QM018, V').fill('3.712');
    trouble.expected.push('/travellers');
    await form.getByLabel('Open-circuit voltage of QM034, V').fill('7.4');
    await form.getByRole('button', { name: 'Keep the results' }).click();
    await form.getByText(/is outside the limits of the chemistry/).waitFor();
    await form.getByLabel('Open-circuit voltage of QM034, V').fill('3.7095');
    await form.getByRole('button', { name: 'Keep the results' }).dblclick();
    await page.getByText('The open-circuit voltages differ by 2.5 mV.').waitFor();
    interface Kept {
      readonly items: readonly { readonly value: number; readonly excludedReason: string }[];
    }
    expect((await get('/stacks/3/travellers')).items).toHaveLength(1);
    expect((await get<Kept>('/cells/18/measurements?quantity=ocv&limit=500')).items).toContainEqual(
      expect.objectContaining({ value: 3.712, excludedReason: 'soc-not-stated' }),
    );
    await open('/');
    await page.getByLabel('Serial').fill('stack 3');
    await page.getByLabel('Serial').press('Enter');
    await page.waitForURL(/\/stacks\/3$/);
  });

  it('leaves no error behind', () => {
    expect(trouble.found).toEqual([]);
  });
});
