import type { Command } from 'commander';
import { readConfig } from '../config.ts';
import { serve } from '../main.ts';
import { summaries } from './summaries.ts';

/** `gemel serve`: pages and API on this machine until it is stopped. */
export function registerServe(program: Command): void {
  program
    .command('serve')
    .description(summaries.serve)
    .action(async () => {
      const running = await serve(readConfig());
      process.stderr.write(`gemel is at ${running.address} (Ctrl+C ends it)\n`);
      await new Promise<void>((resolve) => {
        for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve());
      });
      await running.stop();
    });
}
