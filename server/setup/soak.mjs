// npm run soak: the long runs against broken files and sudden ends, ten times what the tests do.
import { spawnSync } from 'node:child_process';
import { prepare, root } from './prepare.mjs';

prepare();
const soak = spawnSync(
  process.execPath,
  ['--import', 'tsx', 'tests/bench/soak/main.ts', ...process.argv.slice(2)],
  {
    stdio: 'inherit',
    cwd: root,
  },
);
process.exitCode = soak.status ?? 1;
