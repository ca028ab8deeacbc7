import { writeFile } from 'node:fs/promises';
import type { Command } from 'commander';
import { columnMapFile } from '../contract/columnMaps.ts';
import { fieldError, Refusal } from '../errors.ts';
import { listColumnMaps } from '../store/columnMaps.ts';
import { columnMapFileOf, takeColumnMaps } from '../use-cases/imports/columnMapFile.ts';
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
  const document = await columnMapFileOf(context, names);
  await writeFile(file, `${JSON.stringify(document, null, 2)}\n`, { flag: 'wx' }).catch((error: unknown) => {
    throw new Refusal('invalid-request', `${file} cannot be written: ${(error as Error).message}.`, [
      fieldError('file', file, 'cannot be written', 'a path that does not exist yet'),
    ]);
  });
  process.stderr.write(`${document.maps.length} column maps written to ${file}.\n`);
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
  const taken = await takeColumnMaps(context, parsed.data);
  process.stderr.write(`${taken.length} column maps taken.\n`);
}
