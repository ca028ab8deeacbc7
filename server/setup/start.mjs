// npm start: prepares what is missing, runs the main job on the demonstration lot where the database is empty, serves.
import { prepare } from './prepare.mjs';

const known = new Set(['--no-serve', '--empty']);
const wanted = process.argv.slice(2);
const unknown = wanted.filter((argument) => !known.has(argument));
if (unknown.length > 0) {
  console.error(`Unknown: ${unknown.join(' ')}. npm start takes -- --no-serve and -- --empty.`);
  process.exit(2);
}
prepare();
if (!wanted.includes('--empty')) {
  await import('../../dist/seed/load.js');
  if (process.exitCode) process.exit();
}
if (!wanted.includes('--no-serve')) {
  // One process for both, because opening the database and loading the program is most of a second start.
  process.argv = [...process.argv.slice(0, 2), 'serve'];
  await import('../../dist/server/commands/main.js');
}
