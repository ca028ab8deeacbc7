import { existsSync } from 'node:fs';
import type { Command } from 'commander';
import { readConfig } from '../config.ts';
import { Refusal } from '../errors.ts';
import { backupDatabase, ownFileOf, restoreDatabase } from '../store/backup.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

/** `gemel backup FILE`: the whole database as one file. */
export function registerBackup(program: Command): void {
  program
    .command('backup')
    .description(summaries.backup)
    .argument('<file>')
    .action(async (file: string) =>
      withContext(async (context) => {
        if (existsSync(file)) throw new Refusal('conflict', `${file} is there already; nothing was written.`);
        await backupDatabase(context.store, file);
        process.stdout.write(`Wrote ${file}.\n`);
      }),
    );
}

/** `gemel restore FILE`: a backup in the place of the database. */
export function registerRestore(program: Command): void {
  program
    .command('restore')
    .description(summaries.restore)
    .argument('<file>')
    .action(async (file: string) => {
      const kept = await restoreDatabase(file, ownFileOf({ place: readConfig().database }, file), new Date());
      process.stdout.write(`Restored ${file}.${kept ? ` The earlier database is kept as ${kept}.` : ''}\n`);
    });
}
