import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, seriousFindings, settled } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { germanFiles } from './germanFiles.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

/** What a person does, counted: each press, each field and each choice of files. */
function counting(page: Page) {
  const done: string[] = [];
  const doing = async (what: string, work: () => Promise<unknown>) => {
    done.push(what);
    await work();
  };
  // A required field has a star behind its name.
  const labelled = (label: string) =>
    page.getByLabel(new RegExp(`^${label.replace(/[{}()%.]/g, '\\$&')}( \\*)?$`));
  return {
    done,
    presses: () => done.filter((what) => what.startsWith('press')).length,
    press: (target: Locator) => doing(`press ${target}`, () => target.click()),
    fill: (label: string, value: string) => doing(`fill ${label}`, () => labelled(label).fill(value)),
    choose: (label: string, option: string) =>
      doing(`choose ${label}`, () => labelled(label).selectOption({ label: option })),
    files: (paths: readonly string[]) =>
      doing('choose files', () => page.setInputFiles('input[type=file]', [...paths])),
  };
}

interface Proven {
  readonly items: readonly { readonly pairCount?: number; readonly proven: boolean }[];
}

describe.skipIf(withoutBrowser)('the way from an empty database to proven pairs', () => {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-journey-'));
  let service: RunningService;
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
    rmSync(folder, { recursive: true, force: true });
  });
  const write = (name: string, bytes: Buffer | string) => {
    const path = join(folder, name);
    writeFileSync(path, bytes);
    return path;
  };
  const proven = async () => (await ask<Proven>(service.address, '/pairings')).items.map((p) => p.proven);

  it('in German, with German headers, decimal commas, Windows-1252, a row of units and twelve pulse records, takes at most 20 clicks and entries', async () => {
    service = await startService({ demonstration: false });
    const { page, context, trouble } = await openPage(browser, service.address, 'desk', 'light', 'de-DE');
    const user = counting(page);
    await page.goto('/');
    await user.press(
      page
        .getByRole('main')
        .getByRole('link', { name: /importieren/ })
        .first(),
    );
    await user.fill('Name des Typs', 'P3');
    await user.fill('Nennkapazität, Ah', '3,0');
    await user.fill('Ladeschlussspannung, V', '4,2');
    await user.fill('Entladeschlussspannung, V', '2,5');
    await user.choose('Zellchemie', 'NMC / graphite');
    await user.press(page.getByRole('button', { name: 'Hinzufügen', exact: true }));
    await user.fill('Name des neuen Loses', 'Lieferung 1');
    await user.press(page.getByRole('button', { name: 'Los anlegen' }));
    await page.getByLabel('Los, zu dem die Zellen gehören').waitFor();
    await user.files(germanFiles().map(({ name, bytes }) => write(name, bytes)));
    await user.press(page.getByText('Fehlende Angaben zu den Dateien'));
    await user.fill('Muster der Dateinamen', '{cell}_{kind}_{temperature}C.csv');
    await user.fill('Anfangs-SOC des Tests, %', '90');
    await page.getByRole('button', { name: 'Die 13 bereiten Dateien importieren' }).waitFor();
    expect(await seriousFindings(page)).toEqual([]);
    await user.press(page.getByRole('button', { name: 'Die 13 bereiten Dateien importieren' }));
    await expect.poll(() => page.getByText('● importiert').count(), { timeout: 60_000 }).toBe(13);
    await user.press(page.getByRole('link', { name: 'Weiter: das Los Lieferung 1' }));
    await user.press(page.getByRole('button', { name: 'Jetzt auswerten' }));
    await page.getByText(/Auswertung des Loses: fertig/).waitFor({ timeout: 60_000 });
    await user.press(page.getByRole('link', { name: 'Zellen dieses Loses paaren' }));
    await user.press(page.getByRole('button', { name: 'Beste Paarung suchen' }));
    await page.getByText(/6 Paare aus 12 Zellen, bewiesen die beste Paarung/).waitFor({ timeout: 60_000 });
    expect(await proven()).toEqual([true]);
    await page.getByRole('columnheader', { name: /^Δ Kapazität/ }).waitFor();
    const compared = await page.getByRole('columnheader', { name: /^Δ / }).allInnerTexts();
    expect(compared.length, compared.join()).toBeGreaterThanOrEqual(2);
    expect(await seriousFindings(page)).toEqual([]);
    expect(trouble.found).toEqual([]);
    expect(user.done.length, user.done.join('\n')).toBeLessThanOrEqual(20);
    await context.close();
  });

  it('goes on to stacks, a study and an export, and makes one of each when their buttons are pressed twice', async () => {
    const { page, context, trouble } = await openPage(browser, service.address, 'desk', 'light', 'de-DE');
    const total = async (path: string) => (await ask<{ total: number }>(service.address, path)).total;
    const twice = (name: RegExp | string) => page.getByRole('button', { name, exact: true }).dblclick();
    await page.goto('/lots/1');
    await twice(/^Alle \d+ Tests neu auswerten$/);
    await page.getByText(/Auswertung des Loses: fertig/).waitFor({ timeout: 60_000 });
    expect(await total('/jobs?kind=evaluate-lot')).toBe(2);
    await page.goto('/pairings/new?lots=1');
    await twice('Beste Paarung suchen');
    await page.getByText(/6 Paare aus 12 Zellen/).waitFor({ timeout: 60_000 });
    expect(await total('/pairings')).toBe(2);
    await twice('Die 6 vorgeschlagenen Paare annehmen');
    await page.getByText('6 Paare sind angenommen.').waitFor();
    await twice('6 Stacks planen');
    await page.getByText('6 Stacks sind geplant.').waitFor();
    expect(await total('/stacks')).toBe(6);
    await page.goto('/stacks/1');
    await page.getByRole('button', { name: 'Als gebaut markieren…' }).click();
    await page.getByText(/Einen Tag lang lässt sich das zurücknehmen/).waitFor();
    await page.getByLabel('Seriennummer oder Name des Stacks').fill('S-1');
    await twice('Gebaut');
    await page.getByRole('button', { name: 'Doch nicht gebaut' }).click();
    await page.getByRole('button', { name: 'Plan aufheben' }).waitFor();
    await page.goto('/charge-studies/new?stack=1');
    await page.getByRole('region', { name: /^Ergebnis von/ }).waitFor({ timeout: 60_000 });
    await twice('Speichern und alle Fragen beantworten');
    await page.waitForURL(/\/charge-studies\/\d+$/);
    expect(await total('/charge-studies')).toBe(1);
    await page.goto('/exports?subjectKind=lot&subjectId=1&new=yes');
    await settled(page);
    const file = page.waitForEvent('download');
    await twice('Export');
    await file;
    expect(await total('/exports')).toBe(1);
    expect(await page.locator('.problem').allInnerTexts()).toEqual([]);
    expect(trouble.found).toEqual([]);
    await context.close();
    await service.stop();
  });

  it('in English, with one cell table, takes 9 clicks', async () => {
    service = await startService({ demonstration: false });
    const { page, context, trouble } = await openPage(browser, service.address, 'desk', 'light');
    const user = counting(page);
    const rows = germanFiles()[0].bytes.toString('latin1').replaceAll(',', '.').split('\r\n').slice(2);
    const table = `serial,capacity (Ah),ACIR 1 kHz (mOhm)\n${rows.map((row) => row.split(';').slice(0, 3).join(',')).join('\n')}`;
    await page.goto('/');
    await user.press(page.getByRole('main').getByRole('link', { name: 'Import' }).first());
    await user.fill('Name of the type', 'P3');
    await user.fill('Rated capacity, Ah', '3.0');
    await user.choose('Chemistry', 'NMC / graphite');
    await user.press(page.getByRole('button', { name: 'Add', exact: true }));
    await user.fill('Name of the new lot', 'Delivery 1');
    await user.press(page.getByRole('button', { name: 'Add the lot' }));
    await page.getByLabel('Lot the cells belong to').waitFor();
    await user.files([write('cells.csv', table)]);
    await user.press(page.getByRole('button', { name: /^Import the file/ }));
    await page.getByText('● imported').waitFor();
    await user.press(page.getByRole('link', { name: 'Next: the lot Delivery 1' }));
    await settled(page);
    await user.press(page.getByRole('link', { name: 'Pair the cells of this lot' }));
    await user.press(page.getByRole('button', { name: 'Find the best pairing' }));
    await page.getByText(/pairs from 12 cells, proven best/).waitFor({ timeout: 60_000 });
    expect(await proven()).toEqual([true]);
    expect(trouble.found).toEqual([]);
    expect(user.presses(), user.done.join('\n')).toBeLessThanOrEqual(9);
    expect(user.done.length, user.done.join('\n')).toBeLessThanOrEqual(12);
    await context.close();
  });
});
