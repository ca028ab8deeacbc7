// Loaded before a program: prints the high-water mark of its memory when it ends, which only the process itself can tell.
const { existsSync, readFileSync } = require('node:fs');

process.on('exit', () => {
  const status = existsSync('/proc/self/status') ? readFileSync('/proc/self/status', 'utf8') : '';
  const mark = /VmHWM:\s+(\d+) kB/.exec(status);
  const kB = mark === null ? process.resourceUsage().maxRSS : Number(mark[1]);
  process.stderr.write(`\npeak ${kB} kB\n`);
});
