// npm run bench: each bench runs ours and a peer in turn and prints their ratio.
import { spawnSync } from 'node:child_process';
import { prepare, root } from './prepare.mjs';

prepare();
const bench = spawnSync(
  process.execPath,
  ['--expose-gc', '--import', 'tsx', 'tests/bench/main.ts', ...process.argv.slice(2)],
  { stdio: 'inherit', cwd: root },
);
process.exitCode = bench.status ?? 1;
