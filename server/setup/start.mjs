// npm start: prepares what is missing, runs the main job on the demonstration lot where the database is empty, serves.
import { spawn, spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { prepare, root } from './prepare.mjs';

const known = new Set(['--no-serve', '--empty']);
const wanted = process.argv.slice(2);
const unknown = wanted.filter((argument) => !known.has(argument));
if (unknown.length > 0) {
  console.error(`Unknown: ${unknown.join(' ')}. npm start takes -- --no-serve and -- --empty.`);
  process.exit(2);
}
prepare();
if (!wanted.includes('--empty')) {
  const load = spawnSync(process.execPath, [join(root, 'dist/seed/load.js')], { stdio: 'inherit' });
  if (load.status !== 0) process.exit(load.status ?? 1);
}
if (!wanted.includes('--no-serve')) {
  const serve = spawn(process.execPath, [join(root, 'dist/server/commands/main.js'), 'serve'], {
    stdio: 'inherit',
  });
  for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => serve.kill(signal));
  serve.on('exit', (code, signal) => process.exit(signal ? 0 : (code ?? 1)));
}
