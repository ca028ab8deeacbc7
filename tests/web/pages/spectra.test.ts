import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isMissing, sharedIsMissing, sharedPath } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, seriousFindings, settled } from './browser.ts';
import { addLot } from './firstSteps.ts';
import { type RunningService, startService } from './service.ts';

const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');
const spectra = 'datasets/panasonic-18650pf/eis_25degC.csv';

describe.skipIf(withoutBrowser || sharedIsMissing(spectra))('measured impedance spectra in the pages', () => {
  let service: RunningService;
  let browser: Browser;
  beforeAll(async () => {
    service = await startService({ demonstration: false });
    browser = await openBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.stop();
  });

  it('are imported as they are understood, drawn, evaluated, and stand in the table of their cell', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'desk', 'light');
    await page.goto('/import');
    const type = { type: 'NCR18650PF', ratedAh: '2.9', limitV: '4.2', cutoffV: '2.5' };
    await addLot(page, { ...type, lot: 'Bench cells' });
    await page.getByText('Details missing from the files').click();
    await page.getByLabel('Serial of the cell').fill('PF-1');
    await page.setInputFiles('input[type=file]', sharedPath(spectra));
    const card = page.getByRole('region', { name: 'eis_25degC.csv' });
    await card.getByText('Creates the cell PF-1 and 1 test').waitFor();
    expect(await card.getByLabel('Column of the real part').inputValue()).toBe('z_real_ohm');
    expect(await card.getByLabel('The file is').inputValue()).toBe('impedance-table');
    await page.getByRole('button', { name: /^Import the file/ }).click();
    await card.getByText('● imported').waitFor();

    await page.goto('/tests');
    await page.getByRole('link', { name: /impedance test/ }).click();
    await page.getByText('14 spectra, 756 points', { exact: false }).waitFor();
    await page.getByRole('img', { name: /^Impedance plane\. −Z″ against Z′\..*: 54 points/ }).waitFor();
    expect(await page.getByRole('img', { name: /^Residuals/ }).count()).toBe(0);

    await page.getByText('Missing details').click();
    await page.getByLabel('SOC at the start of the record, %').fill('100');
    await page.getByRole('button', { name: 'Save for this test' }).click();
    await page.getByText('The test is changed').waitFor();
    await page.getByRole('button', { name: 'Evaluate', exact: true }).click();
    const values = page.getByRole('region', { name: 'Values of the spectra' });
    await values.getByRole('row', { name: /^3541_EIS00007 50\.0 % 25\.0 21\.380/ }).waitFor();
    await page.getByRole('img', { name: /^Residuals of the Kramers–Kronig check/ }).waitFor();
    const circuits = page.getByRole('region', { name: 'Circuits of the spectra' });
    expect(await circuits.getByRole('columnheader', { name: 'arc 2 resistance, mΩ' }).count()).toBe(1);
    await settled(page);
    expect(await seriousFindings(page)).toEqual([]);

    const plane = page.getByRole('group', { name: 'Tools of the chart Impedance plane' });
    await plane.getByRole('button', { name: 'Show as a table' }).click();
    await page.getByText('21.02').first().waitFor();
    await page.goto('/cells/1');
    await page.getByText('impedance spectrum, |Z| interpolated at 1 kHz').first().waitFor();
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });

  it('can be read on a phone in the dark', async () => {
    const { page, trouble } = await openPage(browser, service.address, 'phone', 'dark');
    await page.goto('/tests/1');
    await page.getByRole('heading', { name: 'Kramers–Kronig check' }).waitFor();
    await settled(page);
    expect(await seriousFindings(page)).toEqual([]);
    expect(trouble.found).toEqual([]);
    await page.context().close();
  });
});
