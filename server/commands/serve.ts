import type { Command } from 'commander';
import { readConfig } from '../config.ts';
import { serve, work } from '../main.ts';
import { summaries } from './summaries.ts';

/** `gemel work`: runs jobs until it is stopped; what it had begun then starts again with another worker. */
export function registerWork(program: Command): void {
  program
    .command('work')
    .description(summaries.work)
    .action(async () => {
      const stop = await work(readConfig());
      process.stderr.write('gemel runs the jobs that wait (Ctrl+C ends it)\n');
      await untilStopped();
      await stop();
    });
}

function untilStopped(): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve());
  });
}

/** `gemel serve`: pages and API on this machine until it is stopped. */
export function registerServe(program: Command): void {
  program
    .command('serve')
    .description(summaries.serve)
    .action(async () => {
      const running = await serve(readConfig());
      process.stderr.write(`gemel is at ${running.address} (Ctrl+C ends it)\n`);
      await untilStopped();
      await running.stop();
    });
}
