import type { Context } from '../../server/context.ts';
import { inTransaction } from '../../server/context.ts';
import { type ImportOptions, type ImportReport, importOptions } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from './basics.ts';

/** A built stack of two cells, without the pairing that a stack usually comes from; its lot and cells are made with it. */
export async function makeStack(
  context: Context,
  name = 'S-1',
  letters: readonly string[] = ['A', 'B'],
): Promise<{ stackId: number; lotName: string; cellIds: number[] }> {
  const lotName = `lot of ${name}`;
  const { lot } = await makeLot(context, { lot: lotName });
  const cellIds: number[] = [];
  for (const serial of letters)
    cellIds.push((await createCell(context, { lotId: lot.id, serial: `${name}-${serial}`, note: '' })).id);
  const stackId = await inTransaction(context, async ({ store, now }) => {
    const createdAt = now().toISOString();
    const { id } = await store.db
      .insertInto('Stack')
      .values({ name, state: 'built', createdAt, builtAt: createdAt })
      .returning('id')
      .executeTakeFirstOrThrow();
    await store.db
      .insertInto('StackCell')
      .values(cellIds.map((cellId, i) => ({ stackId: id, position: i + 1, cellId })))
      .execute();
    return id;
  });
  return { stackId, lotName, cellIds };
}

/** Imports the text of a log as a file. */
export function importStackLogText(
  context: Context,
  text: string,
  options: ImportOptions,
  name = 'log.csv',
): Promise<ImportReport> {
  return importFile(
    context,
    { name, open: async () => bufferSource(Buffer.from(text)), rereadable: true },
    importOptions.parse(options),
    'batch',
  );
}
