import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/**
 * Whether a missing outside part (browser, circuit simulator, SciPy, data sets) fails the run instead of skipping
 * what needs it. The continuous integration sets it.
 */
export const everythingRequired = process.env.GEMEL_REQUIRE_ALL === '1';

/**
 * Says loudly that tests are skipped because `part` is missing, or throws where everything is required.
 * Use as `describe.skipIf(isMissing('ngspice', ok, 'apt-get install ngspice'))(…)`.
 */
export function isMissing(part: string, present: boolean, howToInstall: string): boolean {
  if (present) return false;
  const sentence = `${part} is missing, so what needs it cannot be tested. To install it: ${howToInstall}`;
  if (everythingRequired) throw new Error(sentence);
  console.warn(`\n*** SKIPPED: ${sentence}\n`);
  return true;
}

/** Absolute path of a file beside the project in `../shared`, whether or not it is there. */
export function sharedPath(relative: string): string {
  return fileURLToPath(new URL(`../../../shared/${relative}`, import.meta.url));
}

/** True (after saying so) where `../shared/<relative>` is absent. */
export function sharedIsMissing(relative: string): boolean {
  return isMissing(
    `../shared/${relative}`,
    existsSync(sharedPath(relative)),
    'place the shared folder beside the project',
  );
}
