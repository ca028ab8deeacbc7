import { type Context, nowText } from '../../context.ts';
import type { ColumnMapFile } from '../../contract/columnMaps.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { listColumnMaps, type StoredColumnMap, saveColumnMap } from '../../store/columnMaps.ts';

/**
 * The kept column maps as a document that another installation takes.
 *
 * @param names only these; all of them where empty
 * @throws Refusal `not-found` for a name that no map has
 */
export async function columnMapFileOf(context: Context, names: readonly string[]): Promise<ColumnMapFile> {
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
  return { schemaVersion: 1, maps };
}

/** Keeps the column maps of such a document, all or none; one of the same name is replaced. */
export async function takeColumnMaps(context: Context, { maps }: ColumnMapFile): Promise<StoredColumnMap[]> {
  const createdAt = nowText(context);
  return context.store.transaction(async (store) =>
    inOrder(maps, async (map) => saveColumnMap(store, { ...map, createdAt })),
  );
}
