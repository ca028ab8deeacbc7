// npm run gemel: the command line, built first where the sources have changed.
import { buildServer, generate, install } from './prepare.mjs';

install();
generate();
buildServer();
// npm runs scripts in the project's folder; names of files count from where the person is.
if (process.env.INIT_CWD) process.chdir(process.env.INIT_CWD);
await import('../../dist/server/commands/main.js');
