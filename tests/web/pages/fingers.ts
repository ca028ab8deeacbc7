import type { Locator, Page } from 'playwright-core';

interface Spot {
  readonly x: number;
  readonly y: number;
}

/** One finger put on the middle of the element and moved up by so many pixels, as one scrolls. */
export async function swipe(page: Page, element: Locator, { up }: { readonly up: number }): Promise<void> {
  const { x, y } = await middleOf(element);
  await touch(page, (share) => [{ x, y: y - up * share }]);
}

/** Two fingers put on the middle of the element and spread sideways. */
export async function pinch(page: Page, element: Locator): Promise<void> {
  const { x, y } = await middleOf(element);
  await touch(page, (share) => [
    { x: x - 20 - 60 * share, y },
    { x: x + 20 + 60 * share, y },
  ]);
}

async function middleOf(element: Locator): Promise<Spot> {
  await element.scrollIntoViewIfNeeded();
  const box = await element.boundingBox();
  if (box === null) throw new Error(`${element} is not on the screen.`);
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** Touches through the debugger, because Playwright itself only taps. `spots` gives the fingers at a share of the way. */
async function touch(page: Page, spots: (share: number) => readonly Spot[]): Promise<void> {
  const session = await page.context().newCDPSession(page);
  const send = (type: 'touchStart' | 'touchMove' | 'touchEnd', at: readonly Spot[]) =>
    session.send('Input.dispatchTouchEvent', { type, touchPoints: at.map((spot, id) => ({ ...spot, id })) });
  await send('touchStart', spots(0));
  for (let step = 1; step <= 10; step++) {
    await send('touchMove', spots(step / 10));
    await page.waitForTimeout(20);
  }
  await send('touchEnd', []);
  await session.detach();
}
