import { writeFile } from 'node:fs/promises';
import type { Command } from 'commander';
import { nowText } from '../context.ts';
import { columnMapFile } from '../contract/import.ts';
import { fieldError, Refusal } from '../errors.ts';
import { listColumnMaps, saveColumnMap } from '../store/columnMaps.ts';
import { printJson } from './program.ts';
import { readJsonFile } from './readJsonFile.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

/** `gemel column-map …`: column maps that are kept, to a file and from the file of another installation. */
export function registerColumnMap(program: Command): void {
  const command = program.command('column-map').description(summaries['column-map']);
  command
    .command('list')
    .description('column maps with the fingerprint of the header that each is proposed for')
    .option('--json', 'machine-readable output')
    .action(async (options: { json?: boolean }) =>
      withContext(async (context) => {
        const maps = await listColumnMaps(context.store);
        if (options.json === true) printJson({ maps });
        else for (const map of maps) process.stdout.write(`${map.name}  ${map.fingerprint}\n`);
      }),
    );
  command
    .command('export')
    .description('write the kept column maps as a JSON document that `take` reads')
    .argument('<file>', 'where to write it')
    .argument('[names...]', 'only these maps')
    .action(async (file: string, names: string[]) =>
      withContext((context) => exportMaps(context, file, names)),
    );
  command
    .command('take')
    .description('keep the column maps of such a document; one of the same name is replaced')
    .argument('<file>', 'a document that `export` wrote; - is standard input')
    .action(async (file: string) => withContext((context) => takeMaps(context, file)));
}

type Context = Parameters<Parameters<typeof withContext>[0]>[0];

async function exportMaps(context: Context, file: string, names: readonly string[]): Promise<void> {
  const kept = await listColumnMaps(context.store);
  const unknown = names.filter((name) => kept.every((map) => map.name !== name));
  if (unknown.length > 0)
    throw new Refusal(
      'not-found',
      `There is no column map named ${unknown.join(', ')}.`,
      unknown.map((name) =>
        fieldError('names', name, 'unknown', `one of ${kept.map((map) => map.name).join(', ')}`),
      ),
    );
  const maps = kept
    .filter((map) => names.length === 0 || names.includes(map.name))
    .map(({ name, fingerprint, reading }) => ({ name, fingerprint, reading }));
  await writeFile(file, `${JSON.stringify({ schemaVersion: 1, maps }, null, 2)}\n`, { flag: 'wx' }).catch(
    (error: unknown) => {
      throw new Refusal('invalid-request', `${file} cannot be written: ${(error as Error).message}.`, [
        fieldError('file', file, 'cannot be written', 'a path that does not exist yet'),
      ]);
    },
  );
  process.stderr.write(`${maps.length} column maps written to ${file}.\n`);
}

async function takeMaps(context: Context, file: string): Promise<void> {
  const parsed = columnMapFile.safeParse(await readJsonFile(file, 'column maps'));
  if (!parsed.success)
    throw new Refusal(
      'invalid-request',
      `${file} does not hold column maps.`,
      parsed.error.issues.map(({ path, message }) =>
        fieldError(path.join('.'), undefined, message, 'a document that gemel column-map export wrote'),
      ),
    );
  const createdAt = nowText(context);
  await context.store.transaction(async (store) => {
    for (const map of parsed.data.maps) await saveColumnMap(store, { ...map, createdAt });
  });
  process.stderr.write(`${parsed.data.maps.length} column maps taken.\n`);
}
