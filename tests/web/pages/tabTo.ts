import type { Locator, Page } from 'playwright-core';

/** Presses Tab until the wanted element has the focus: it must be reachable, and soon enough. */
export async function tabTo(page: Page, wanted: Locator, most = 60): Promise<void> {
  for (let presses = 0; presses <= most; presses++) {
    if (await wanted.evaluate((e) => e === document.activeElement).catch(() => false)) return;
    await page.keyboard.press('Tab');
  }
  throw new Error(`${wanted} is not reached by ${most} presses of Tab.`);
}
