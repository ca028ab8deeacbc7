import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, settled } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

interface Listed {
  readonly items: readonly { readonly id: number; readonly name: string; readonly version: number }[];
  readonly total: number;
}

describe.skipIf(withoutBrowser)('a slip, a double click, or a server that ends', () => {
  let service: RunningService;
  let browser: Browser;
  let page: Page;
  const get = <T>(path: string) => ask<T>(service.address, path);

  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
    page = (await openPage(browser, service.address, 'desk', 'light')).page;
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  const addType = async (name: string, chemistry: string, ratedAh: string) => {
    await page.getByLabel('Name of the type').fill(name);
    await page.getByLabel('Chemistry').selectOption({ label: chemistry });
    await page.getByLabel('Rated capacity, Ah').fill(ratedAh);
    await page.getByRole('button', { name: 'Add', exact: true }).click();
  };

  it('gives a new lot the cell type that was just added, and none that nobody chose', async () => {
    await page.goto('/import');
    await settled(page);
    expect(await page.getByRole('button', { name: 'Cancel' }).count()).toBe(0);
    const chemistries = await get<Listed>('/chemistries');
    await addType('First', chemistries.items[0].name, '3,2');
    await page.getByRole('button', { name: 'Another cell type' }).click();
    await addType('Second', chemistries.items[1].name, '1.1');
    await page.getByLabel('Name of the new lot').fill('spring');
    await page.getByRole('button', { name: 'Add the lot' }).dblclick();
    await page.getByLabel('Lot the cells belong to').waitFor();
    const lots = await get<{ items: { cellTypeName: string; ratedCapacityAh: number }[] }>('/lots');
    expect(lots.items).toMatchObject([{ cellTypeName: 'Second', ratedCapacityAh: 1.1 }]);
    await page.getByRole('button', { name: 'A new lot' }).click();
    expect(await page.getByLabel('Cell type').inputValue()).toBe('');
  });

  it('changes name, cell type and note of a lot, and deletes an empty one', async () => {
    const [lot] = (await get<Listed>('/lots')).items;
    await page.goto(`/lots/${lot.id}`);
    await page.getByRole('button', { name: 'Edit' }).click();
    await page.getByLabel('Name of the lot').fill('spring 2');
    await page.getByLabel('Cell type').selectOption({ index: 0 });
    await page.getByText('Another cell type means other voltage limits').waitFor();
    await page.getByLabel('Note').fill('two boxes');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByRole('heading', { name: 'spring 2' }).waitFor();
    expect(await get(`/lots/${lot.id}`)).toMatchObject({ cellTypeName: 'First', note: 'two boxes' });
    await page.getByRole('button', { name: 'Edit' }).click();
    await page.getByRole('button', { name: 'Delete the empty lot' }).click();
    await page.getByText('The lot spring 2 is deleted.').waitFor();
    expect((await get<Listed>('/lots')).total).toBe(0);
  });

  it('shows the present state after a conflict, and the next press goes through', async () => {
    const type = (await get<Listed>('/cell-types')).items[0];
    const lot = await ask<{ id: number }>(service.address, '/lots', { name: 'shared', cellTypeId: type.id });
    await page.goto(`/lots/${lot.id}`);
    await page.getByRole('button', { name: 'Edit' }).click();
    await page.getByLabel('Note').fill('mine');
    const other = await fetch(`${service.address}/api/v1/lots/${lot.id}`, {
      method: 'PATCH',
      headers: { 'content-type': 'application/json', 'if-match': '"1"' },
      body: JSON.stringify({ name: 'renamed' }),
    });
    expect(other.status).toBe(200);
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByText('Someone else changed this in the meantime').waitFor();
    await page.getByRole('heading', { name: 'renamed' }).waitFor();
    expect(await page.getByLabel('Note').inputValue()).toBe('mine');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByText('renamed is changed.').waitFor();
    expect(await get(`/lots/${lot.id}`)).toMatchObject({ name: 'renamed', note: 'mine' });
  });

  it('keeps a note once when its button is pressed twice', async () => {
    const [lot] = (await get<Listed>('/lots')).items;
    const cell = await ask<{ id: number }>(service.address, '/cells', { lotId: lot.id, serial: 'C-1' });
    await page.goto(`/cells/${cell.id}`);
    await page.getByLabel('Add a note').fill('seen');
    await page.getByRole('button', { name: /the note|Add note/ }).dblclick();
    await page.locator('blockquote').getByText('seen').waitFor();
    await settled(page);
    expect((await get<{ items: unknown[] }>(`/cells/${cell.id}/notes`)).items).toHaveLength(1);
  });

  it('keeps the list of files when the page is loaded again', async () => {
    const file = join(service.dataFolder, 'cells.csv');
    writeFileSync(file, 'serial,capacity (Ah)\nA-1,3.1\nA-2,3.2\n');
    await page.goto('/import?lot=renamed');
    await page.getByLabel(/^Files/).setInputFiles(file);
    await page.getByRole('region', { name: 'cells.csv' }).getByText('○ ready').waitFor();
    await page.reload();
    await page.getByRole('region', { name: 'cells.csv' }).getByText('○ ready').waitFor();
  });

  it('says that a page cannot be fetched, and shows it by itself once the server is back', async () => {
    await page.goto('/jobs');
    await settled(page);
    await service.end();
    await page
      .getByRole('link', { name: /Stacks/ })
      .first()
      .click();
    await page.getByRole('heading', { name: 'This page could not be fetched' }).waitFor();
    await service.start();
    await page.getByRole('heading', { name: 'Stacks', exact: true }).waitFor();
    expect(new URL(page.url()).pathname).toBe('/stacks');
  });

  it('shows again by itself what could not be asked while the server was away', async () => {
    await page.goto('/jobs');
    await settled(page);
    await service.end();
    await page.getByText('No answer from the server').waitFor();
    await service.start();
    await page.getByText('No answer from the server').waitFor({ state: 'detached' });
    expect(await page.getByRole('heading', { name: 'Nothing here' }).count()).toBe(1);
  });
});
