// npm run gemel: the command line, compiled first where the sources have changed.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { buildServer, generate, install, root } from './prepare.mjs';

install();
generate();
buildServer();
const command = spawnSync(
  process.execPath,
  [join(root, 'dist/server/commands/main.js'), ...process.argv.slice(2)],
  {
    stdio: 'inherit',
    cwd: process.env.INIT_CWD ?? process.cwd(),
  },
);
process.exitCode = command.status ?? 1;
