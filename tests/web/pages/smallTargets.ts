import type { Page } from 'playwright-core';

/** Least height in CSS pixels of what a finger presses; common practice, above the 24 of WCAG 2.2, 2.5.8. */
const least = 40;

/**
 * What can be pressed on the page and is lower than a finger needs, one line each. Links inside a sentence are left
 * out, as WCAG 2.5.8 does; a box or button of a choice counts with its label.
 */
export async function smallTargets(page: Page): Promise<string[]> {
  return (await page.evaluate(`(() => {
    const found = [];
    const shown = (e) => {
      const r = e.getBoundingClientRect();
      return r.width > 0 && r.height > 0 && getComputedStyle(e).visibility === 'visible';
    };
    const inSentence = (e) => e.tagName === 'A' && e.closest('p, li, dd, blockquote, .page-about, .warning') !== null &&
      getComputedStyle(e).display === 'inline';
    for (const e of document.querySelectorAll('a, button, select, input, textarea, summary, [role=menuitemcheckbox]')) {
      if (!shown(e) || inSentence(e) || e.closest('.skip, .for-readers') !== null) continue;
      const label = e.closest('label') ?? e.labels?.[0];
      const choice = e.type === 'checkbox' || e.type === 'radio';
      const height = Math.max(e.getBoundingClientRect().height, choice ? (label?.getBoundingClientRect().height ?? 0) : 0);
      // The field inside a list of chosen things is as high as the list, which passes every press on to it.
      const field = e.closest('.mantine-Input-input');
      const reached = field === null ? height : Math.max(height, field.getBoundingClientRect().height);
      if (reached < ${least} - 0.5) {
        found.push(e.tagName.toLowerCase() + ' "' + (e.getAttribute('aria-label') ?? e.textContent).trim().slice(0, 40) +
          '", ' + Math.round(reached) + ' px');
      }
    }
    return [...new Set(found)];
  })()`)) as string[];
}
