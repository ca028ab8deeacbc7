import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled } from './browser.ts';
import { ask, doTheJob } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');
const source = fileURLToPath(new URL('../../../web/src/', import.meta.url));

/** Every change that the pages can ask for, as `POST /lots/{id}/evaluate`, read off their source. */
function changesOfThePages(): string[] {
  const found = new Set<string>();
  for (const name of readdirSync(source, { recursive: true, encoding: 'utf8' })) {
    if (!/\.tsx?$/.test(name) || name.startsWith('words')) continue;
    const text = readFileSync(join(source, name), 'utf8');
    for (const [, method, path] of text.matchAll(/\bapi\s*\.(post|patch|delete|put)\(\s*['`]([^'`]+)['`]/g))
      found.add(`${method.toUpperCase()} ${path.replace(/\$\{\w+\}/, 'stacks').replace(/\{\w+\}/g, '#')}`);
  }
  // Looks at a file, which change nothing.
  found.delete('POST /imports/preview');
  found.delete('POST /operating-points');
  return [...found].toSorted();
}

const asked = (method: string, url: string) =>
  `${method} ${new URL(url).pathname.replace('/api/v1', '').replace(/\/\d+/g, '/#')}`;
const onlyAsks = /\/(preview|draft|compute|count|read|columns|gaps|check)$|^POST \/pairings\/(count|preview)/;

interface Press {
  readonly change: string;
  readonly path: string;
  /** Brings the page to where the button can be pressed. */
  readonly before?: (page: Page) => Promise<unknown>;
  readonly button: (page: Page) => Locator;
}

describe.skipIf(withoutBrowser)('every button that changes something, pressed twice', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  let ids: Record<string, number>;
  let planned: number;
  let emptyLot: number;
  const held: string[] = [];
  const button = (name: string | RegExp) => (on: Page) =>
    on.getByRole('button', { name, exact: true }).first();

  beforeAll(async () => {
    service = await startService({ demonstration: true });
    browser = await openBrowser();
    ids = await doTheJob(service.address);
    const { address } = service;
    const [{ cellTypeId }] = (await ask<{ items: { cellTypeId: number }[] }>(address, '/lots')).items;
    emptyLot = (await ask<{ id: number }>(address, '/lots', { name: 'empty', cellTypeId })).id;
    const pairing = await ask<{ pairs: { id: number; state: string; stackId: number | null }[] }>(
      address,
      `/pairings/${ids.pairing}`,
    );
    const free = pairing.pairs.find((p) => p.state === 'accepted' && p.stackId === null);
    planned = (await ask<{ id: number }>(address, '/stacks', { pairId: free?.id })).id;
    // An import that is undone, a job that was cancelled and a saved column map: for the buttons that stand beside them.
    const files = await ask<{ items: { sourceFileId: number; fileName: string }[] }>(
      address,
      '/imports?limit=500',
    );
    const rests = files.items.find((one) => one.fileName === 'rest_three_weeks.csv');
    await ask(address, `/imports/${rests?.sourceFileId}/undo`, {});
    const job = await ask<{ id: number }>(address, '/lots/1/evaluate', { again: true });
    await ask(address, `/jobs/${job.id}/cancel`, {});
    await ask(address, '/column-maps', {
      name: 'bench',
      header: ['a', 'b'],
      reading: { currentSign: 'discharge-positive' },
    });
    page = (await openPage(browser, address, 'desk', 'light')).page;
    // The service never hears of a change: it is held for a while, as by a slow service, and then not answered.
    await page.route('**/api/v1/**', async (route) => {
      const request = route.request();
      const change = asked(request.method(), request.url());
      if (request.method() === 'GET' || onlyAsks.test(change)) return route.continue();
      held.push(change);
      await new Promise((resolve) => setTimeout(resolve, 250));
      await route.fulfill({
        status: 503,
        contentType: 'application/problem+json',
        body: JSON.stringify({ type: 'about:blank', title: 'held', status: 503, detail: '', code: 'busy' }),
      });
    });
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  const file = (name: string, text: string) => {
    writeFileSync(join(service.dataFolder, name), text);
    return join(service.dataFolder, name);
  };
  const pressAll = async (presses: readonly Press[]) => {
    for (const { change, path, before, button: of } of presses) {
      if (path !== '') {
        await page.goto(path);
        await settled(page);
      }
      await before?.(page);
      held.length = 0;
      const target = of(page);
      await target.waitFor();
      await target.dblclick({ noWaitAfter: true });
      await expect.poll(() => held.length, { message: `${change} at ${path}` }).toBeGreaterThan(0);
      await page.waitForTimeout(400);
      expect(held, `${change} at ${path}`).toEqual([change]);
      done.add(change);
    }
  };
  const done = new Set<string>();

  it('asks once on the pages of lots, cells, tests and cell types', async () => {
    await pressAll([
      { change: 'POST /lots/#/evaluate', path: '/lots/1', button: button(/^Evaluate all/) },
      {
        change: 'PATCH /lots/#',
        path: '/lots/1',
        before: async (on) => {
          await button('Edit')(on).click();
          await on.getByLabel('Note').fill('twice');
        },
        button: button('Save'),
      },
      {
        change: 'DELETE /lots/#',
        path: `/lots/${emptyLot}`,
        before: (on) => button('Edit')(on).click(),
        button: button(/^Delete/),
      },
      {
        change: 'PATCH /cells/#',
        path: `/cells/${ids.cell + 12}`,
        before: async (on) => {
          const asks = button(/^Set aside/)(on);
          if (await asks.isVisible()) await asks.click();
          await on
            .getByLabel(/Why|Reason/)
            .first()
            .fill('dent');
        },
        button: (on) => on.getByRole('button', { name: /^Set aside/ }).last(),
      },
      {
        change: 'POST /tests/#/evaluate',
        path: '/tests/104',
        before: (on) => button('Evaluate again with other settings')(on).click(),
        button: button('Evaluate with these'),
      },
      {
        change: 'PATCH /measurements/#',
        path: `/measurements/${ids.measurement}`,
        before: async (on) => {
          await on.getByRole('button', { name: /^Leave out / }).click();
          await on.getByLabel('Why is it left out?').fill('slip');
        },
        button: button('Leave out'),
      },
      {
        change: 'PATCH /cell-types/#',
        path: '/cell-types?open=1',
        before: (on) => on.getByLabel('Mass, g').fill('44'),
        button: button('Save'),
      },
      {
        change: 'POST /cell-types/#/temperature',
        path: '/cell-types?rates=type+1',
        button: button(/^Assess it/),
      },
      {
        change: 'POST /cell-types',
        path: '/cell-types',
        before: async (on) => {
          await on.getByRole('button', { name: /Add a cell type|New cell type/ }).click();
          await on.getByLabel('Name of the type').fill('another');
          await on.getByLabel('Rated capacity, Ah').fill('3');
          await on.getByLabel('Chemistry').selectOption({ label: 'NMC / graphite' });
        },
        button: button('Add'),
      },
      {
        change: 'POST /lots/#/ageing',
        path: '/ageing?lotId=1',
        button: button('Assess again'),
      },
    ]);
  }, 240_000);

  it('asks once on the pages of pairings, stacks, studies and exports', async () => {
    await pressAll([
      { change: 'POST /pairings', path: '/pairings/new?lots=1', button: button('Find the best pairing') },
      { change: 'PATCH /pairs/#', path: `/pairings/${ids.pairing}`, button: button(/^Reject QM/) },
      { change: 'POST /stacks', path: `/pairings/${ids.pairing}`, button: button(/^Plan \d+ stacks?$/) },
      {
        change: 'POST /pairings/#/swap',
        path: `/pairings/${ids.pairing}`,
        before: async (on) => {
          await button(/Exchange/)(on).click();
          await on.getByLabel('Exchange partners with').selectOption({ index: 1 });
        },
        button: button('Exchange'),
      },
      { change: 'DELETE /stacks/#', path: `/stacks/${planned}`, button: button('Cancel plan') },
      { change: 'PATCH /stacks/#', path: '/stacks/3', button: button('Save the date') },
      {
        change: 'POST /stacks/#/travellers',
        path: '/stacks/3',
        before: async (on) => {
          await on.getByText('Enter the results of the traveller').click();
          await on.getByLabel('Open-circuit voltage of QM018, V').fill('3.71');
        },
        button: button('Keep the results'),
      },
      {
        change: 'POST /stacks/#/notes',
        path: '/stacks/3',
        before: (on) => on.getByLabel('Add a note').fill('seen'),
        button: button('Add note'),
      },
      {
        change: 'POST /charge-studies',
        path: '/charge-studies/new?stack=3',
        button: button('Keep the study and answer all questions'),
      },
      {
        change: 'POST /exports',
        path: '/exports?subjectKind=lot&subjectId=1&new=yes',
        button: button('Export'),
      },
    ]);
  }, 240_000);

  it('asks once on the import page', async () => {
    const choose = (name: string, text: string) => async (on: Page) => {
      await on.setInputFiles('input[type=file]', file(name, text));
      await on.getByRole('region', { name }).getByText('○ ready').waitFor();
    };
    await pressAll([
      {
        change: 'POST /imports',
        path: '/import?lot=QM-2200P+delivery+7',
        before: choose('twice.csv', 'serial,capacity (Ah)\nT-1,2.2\n'),
        button: button(/^Import the file/),
      },
      {
        change: 'POST /imports/#/undo',
        path: '/import',
        before: (on) => on.getByRole('button', { name: 'Undo the import of cycling.csv' }).click(),
        button: button('Undo import'),
      },
      {
        change: 'POST /imports/#/restore',
        path: '/import',
        button: button('Restore the import of rest_three_weeks.csv'),
      },
      {
        change: 'DELETE /column-maps/#',
        path: '/import',
        before: (on) =>
          on
            .locator('summary')
            .filter({ hasText: /column map/i })
            .click(),
        button: (on) => on.getByRole('button', { name: /bench/ }).first(),
      },
      {
        change: 'POST /lots',
        path: '/import',
        before: async (on) => {
          await button('A new lot')(on).click();
          await on.getByLabel('Cell type').selectOption({ index: 1 });
          await on.getByLabel('Name of the new lot').fill('another');
        },
        button: button('Add the lot'),
      },
      { change: 'POST /jobs/#/retry', path: '/jobs?state=cancelled', button: button('Try again') },
    ]);
  }, 240_000);

  it('has been tried with every change that the pages can ask for, but for those that are named', () => {
    const elsewhere: Readonly<Record<string, string>> = {
      'PATCH /tests/#': 'one form changes many tests with one request for each, in wholeJob',
      'POST /stacks/#/pictures': 'begins with the choice of a file, which a second press does not repeat',
      'POST /column-maps/file': 'begins with the choice of a file',
      'POST /column-maps': 'the same name again is the same map',
      'POST /jobs/#/cancel': 'a job that is cancelled is cancelled',
      'POST /live-logs/#/close': 'a log that is closed answers alike',
      'POST /stack-log-evaluations': 'not pressed here',
      'POST /stack-log-evaluations/#/take-over': 'not pressed here',
      'POST /supply-parts': 'not pressed here',
      'DELETE /supply-parts/#': 'not pressed here',
    };
    const open = changesOfThePages().filter((change) => !done.has(change) && !(change in elsewhere));
    expect(open).toEqual([]);
  });
});
