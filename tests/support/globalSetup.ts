import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/**
 * Says once, at the top of a run, whether missing outside parts are skipped or fail, and makes the folder that the tests
 * of a run share; the workers find it in `GEMEL_TEST_RUN`.
 *
 * @returns what removes the folder at the end
 */
export default function setup(): () => void {
  const strict = process.env.GEMEL_REQUIRE_ALL === '1';
  console.log(
    strict
      ? 'Everything is required: a missing part fails the run.'
      : 'Missing outside parts are skipped, loudly.',
  );
  const folder = mkdtempSync(join(tmpdir(), 'gemel-test-run-'));
  process.env.GEMEL_TEST_RUN = folder;
  return () => rmSync(folder, { recursive: true, force: true });
}
