import { spawnSync } from 'node:child_process';

const run = spawnSync(
  process.execPath,
  ['--expose-gc', '--import', 'tsx', 'tests/bench/main.ts', ...process.argv.slice(2)],
  {
    stdio: 'inherit',
  },
);
process.exitCode = run.status ?? 1;
