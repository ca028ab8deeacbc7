// npm test: format and lint, types, and all tests; the last line is "N passed, N failed".
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { prepare, root } from './prepare.mjs';

prepare();
const node = process.execPath;
let passed = 0;
let failed = 0;
let skipped = 0;

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

console.log('\n— tests');
const folder = mkdtempSync(join(tmpdir(), 'gemel-test-'));
const report = join(folder, 'report.json');
const tests = spawnSync(
  node,
  [
    'node_modules/vitest/vitest.mjs',
    'run',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${report}`,
    ...process.argv.slice(2),
  ],
  {
    stdio: 'inherit',
    cwd: root,
    // The tests of commands run what has just been built.
    env: { ...process.env, GEMEL_TEST_PROGRAM: 'built' },
  },
);
if (existsSync(report)) {
  const result = JSON.parse(readFileSync(report, 'utf8'));
  passed += result.numPassedTests;
  failed += result.numFailedTests;
  skipped += result.numPendingTests + (result.numTodoTests ?? 0);
  // A test file that could not be loaded has no failed test, but is a failure.
  if (tests.status !== 0 && result.numFailedTests === 0) failed += Math.max(1, result.numFailedTestSuites);
} else {
  failed++;
}
rmSync(folder, { recursive: true, force: true });
console.log(`\n${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
process.exitCode = failed > 0 ? 1 : 0;
