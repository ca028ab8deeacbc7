import type { Page } from 'playwright-core';

export interface FirstLot {
  readonly type: string;
  readonly ratedAh: string;
  readonly limitV: string;
  readonly cutoffV: string;
  readonly lot: string;
}

/** On the import page of an empty notebook: adds the cell type and the lot that the page asks for. */
export async function addLot(page: Page, first: FirstLot): Promise<void> {
  await page.getByLabel('Name of the type').fill(first.type);
  await page.getByLabel('Rated capacity, Ah').fill(first.ratedAh);
  await page.getByLabel('Charge voltage limit, V').fill(first.limitV);
  await page.getByLabel('Discharge cut-off, V').fill(first.cutoffV);
  await page.getByLabel('Chemistry').selectOption({ label: 'NMC / graphite' });
  await page.getByRole('button', { name: 'Add', exact: true }).click();
  await page.getByLabel('Name of the new lot').fill(first.lot);
  await page.getByRole('button', { name: 'Add the lot' }).click();
  await page.getByLabel('Lot the cells belong to').waitFor();
}
