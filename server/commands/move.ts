import { resolve } from 'node:path';
import type { Command } from 'commander';
import { readConfig } from '../config.ts';
import { type DatabasePlace, openStore } from '../store/store.ts';
import { moveDatabase } from '../use-cases/database/moveDatabase.ts';
import { showProgress } from './showProgress.ts';
import { summaries } from './summaries.ts';

/** `gemel move --to PLACE`: everything of this database into another one. */
export function registerMove(program: Command): void {
  program
    .command('move')
    .description(summaries.move)
    .requiredOption('--to <place>', 'postgresql://user@host/name, or the path of an SQLite file')
    .option('--replace', 'remove what the other database holds first')
    .option('--json', 'print the tables with their rows and hashes as JSON')
    .action(async (options: { to: string; replace?: boolean; json?: boolean }) => {
      const config = readConfig();
      const target: DatabasePlace = /^postgres(ql)?:\/\//.test(options.to)
        ? { kind: 'postgresql', url: options.to, folder: config.dataFolder }
        : { kind: 'sqlite', file: resolve(options.to) };
      const from = await openStore(config.database);
      try {
        const to = await openStore(target);
        try {
          const show = showProgress('rows copied and compared');
          const move = await moveDatabase(from, to, options.replace ?? false, show);
          const rows = move.tables.reduce((sum, table) => sum + table.rows, 0);
          const what = move.outcome === 'same' ? 'Both databases hold the same' : 'Moved';
          process.stdout.write(
            options.json
              ? `${JSON.stringify(move)}\n`
              : `${what}: ${rows.toLocaleString('en')} rows of ${move.tables.length} tables, equal in number and SHA-256. Set GEMEL_DATABASE or GEMEL_DATA accordingly and start the service.\n`,
          );
        } finally {
          await to.close();
        }
      } finally {
        await from.close();
      }
    });
}
