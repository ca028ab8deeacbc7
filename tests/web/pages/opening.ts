import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { isMissing } from '../../support/required.ts';
import { chromiumPath, openBrowser, openPage, type Scheme, type Size, type Trouble } from './browser.ts';
import { ask } from './demonstrationJob.ts';
import { type RunningService, type ServiceOptions, startService } from './service.ts';

/** Said once, loudly: tests of pages are left out where there is no browser. */
export const withoutBrowser = isMissing('Chromium', chromiumPath !== null, 'apt-get install chromium');

interface Opening extends ServiceOptions {
  readonly size?: Size;
  readonly scheme?: Scheme;
  readonly locale?: string;
}

/** A running service and a page of it, there while the tests of a `describe` run. */
export interface Opened {
  readonly service: RunningService;
  readonly browser: Browser;
  readonly page: Page;
  readonly trouble: Trouble;
  /** Asks the service as any program would. */
  get<T>(path: string): Promise<T>;
}

/** Starts the service and opens a page before the tests of the `describe` in which it is called, and ends both after them. */
export function openForTests({ size = 'desk', scheme = 'light', locale, ...options }: Opening): Opened {
  const opened: { -readonly [Key in keyof Opened]?: Opened[Key] } = {};
  opened.get = <T>(path: string) => ask<T>(opened.service?.address ?? '', path);
  beforeAll(async () => {
    opened.service = await startService(options);
    opened.browser = await openBrowser();
    Object.assign(opened, await openPage(opened.browser, opened.service.address, size, scheme, locale));
  });
  afterAll(async () => {
    await opened.browser?.close();
    await opened.service?.stop();
  });
  // Whole from the first test on; nothing else reads it.
  return opened as Opened;
}
