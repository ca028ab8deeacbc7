import { existsSync } from 'node:fs';
import type { Command } from 'commander';
import { readConfig } from '../config.ts';
import { Refusal } from '../errors.ts';
import { backupDatabase, restoreDatabase } from '../store/backup.ts';
import { withContext } from './withContext.ts';

/** `gemel backup FILE` and `gemel restore FILE`: the whole database as one file. */
export function registerBackup(program: Command): void {
  program
    .command('backup')
    .description('copy the whole database to FILE while the service may run')
    .argument('<file>')
    .action(async (file: string) =>
      withContext(async (context) => {
        if (existsSync(file)) throw new Refusal('conflict', `${file} is there already; nothing was written.`);
        await backupDatabase(context.store, file);
        process.stdout.write(`Wrote ${file}.\n`);
      }),
    );
  program
    .command('restore')
    .description('put a backup in the place of the database; the present one is kept beside it')
    .argument('<file>')
    .action(async (file: string) => {
      const kept = await restoreDatabase(file, readConfig().databaseFile, new Date());
      process.stdout.write(`Restored ${file}.${kept ? ` The earlier database is kept as ${kept}.` : ''}\n`);
    });
}
