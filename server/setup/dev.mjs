// npm run dev: the service from its sources, started again when one changes, and the pages with hot reload beside it.
import { spawn } from 'node:child_process';
import { generate, install, root } from './prepare.mjs';

install();
generate();
const children = [
  ['node_modules/tsx/dist/cli.mjs', 'watch', '--clear-screen=false', 'server/commands/main.ts', 'serve'],
  ['node_modules/vite/bin/vite.js', '--config', 'web/vite.config.ts'],
].map((args) => spawn(process.execPath, args, { stdio: 'inherit', cwd: root }));
const stop = () => {
  for (const child of children) child.kill('SIGINT');
};
for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, stop);
// One of the two is of no use alone.
for (const child of children) child.on('exit', stop);
