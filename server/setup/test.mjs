// npm test: format and lint, types, and all tests; the last line is "N passed, N failed".
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { prepare, root } from './prepare.mjs';

prepare();
const node = process.execPath;
const folder = mkdtempSync(join(tmpdir(), 'gemel-test-'));
const loaded = loadDemonstration();
let passed = 0;
let failed = 0;
let skipped = 0;

/**
 * Loads the demonstration that the tests copy, beside the steps below. @returns its data folder; null where it failed,
 * which the tests that load it themselves then say
 */
function loadDemonstration() {
  const data = join(folder, 'demonstration');
  const loader = spawn(node, ['dist/seed/load.js'], {
    cwd: root,
    env: { ...process.env, GEMEL_DATA: data, GEMEL_LOG: 'error' },
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  return new Promise((resolve) => {
    loader.once('exit', (code) => resolve(code === 0 ? data : null));
  });
}

function step(what, args) {
  console.log(`\n— ${what}`);
  const ok = spawnSync(node, args, { stdio: 'inherit', cwd: root }).status === 0;
  if (ok) passed++;
  else failed++;
}

step('format and lint', ['node_modules/@biomejs/biome/bin/biome', 'check', '--error-on-warnings', '.']);
step('types of service and tests', ['node_modules/typescript/bin/tsc', '-p', 'tsconfig.json', '--noEmit']);
step('types of the pages', ['node_modules/typescript/bin/tsc', '-p', 'web/tsconfig.json', '--noEmit']);
step('unused files, exports and packages', ['node_modules/knip/bin/knip.js', '--no-config-hints']);
step('files, exports and packages that only tests use', [
  'node_modules/knip/bin/knip.js',
  '--no-config-hints',
  '--production',
]);

/** Runs tests; what they reported, or null where they ended before they could. */
function runTests(name, args) {
  const report = join(folder, `${name}.json`);
  spawnSync(
    node,
    [
      'node_modules/vitest/vitest.mjs',
      'run',
      '--reporter=default',
      '--reporter=json',
      `--outputFile.json=${report}`,
      ...args,
    ],
    {
      stdio: 'inherit',
      cwd: root,
      // The tests of commands run what has just been built.
      env: {
        ...process.env,
        GEMEL_TEST_PROGRAM: 'built',
        ...(demonstration === null ? {} : { GEMEL_TEST_DEMONSTRATION: demonstration }),
      },
    },
  );
  return existsSync(report) ? JSON.parse(readFileSync(report, 'utf8')) : null;
}

function countIn(result) {
  passed += result.numPassedTests;
  skipped += result.numPendingTests + (result.numTodoTests ?? 0);
  failed += result.numFailedTests;
  // A test file that could not be loaded has no failed test, but is a failure.
  if (!result.success && result.numFailedTests === 0) failed += Math.max(1, result.numFailedTestSuites);
}

step('programs of the tests', [
  'server/setup/bundle.mjs',
  'tests/server/kill/victim.ts',
  'tests/server/kill/onceVictim.ts',
]);

console.log('\n— tests');
const demonstration = await loaded;
const result = runTests('all', process.argv.slice(2));
let secondTry = '';
if (result === null) failed++;
else {
  const files = result.testResults.filter((file) => file.status === 'failed');
  const inBrowser = files.filter((file) => file.name.includes('/tests/web/pages/'));
  // A browser waits by the clock, and two files share the machine: what fails there is run once more with nothing beside it.
  // Everything else that fails has failed.
  if (inBrowser.length > 0 && inBrowser.length === files.length) {
    console.log('\n— the failed browser tests once more, by themselves');
    const again = runTests('again', [...inBrowser.map((file) => file.name), '--maxWorkers=1']);
    secondTry = `Failed at the first try, ${again?.success ? 'passed at the second' : 'and again'}: ${inBrowser
      .map((file) => relative(root, file.name))
      .join(', ')}`;
    if (again?.success) {
      passed += result.numTotalTests - result.numPendingTests - (result.numTodoTests ?? 0);
      skipped += result.numPendingTests + (result.numTodoTests ?? 0);
    } else countIn(result);
  } else countIn(result);
}
rmSync(folder, { recursive: true, force: true });
if (secondTry !== '') console.log(`\n${secondTry}`);
console.log(`\n${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
process.exitCode = failed > 0 ? 1 : 0;
