import type { ImportOptions } from '../../contract/import.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { findColumnMap, listColumnMaps } from '../../store/columnMaps.ts';
import type { Store } from '../../store/store.ts';

/**
 * The options with their saved column map filled in; what is said beside the map outranks it.
 *
 * @throws Refusal where there is no such map
 */
export async function readingOf(store: Store, options: ImportOptions): Promise<ImportOptions> {
  if (options.columnMap === undefined) return options;
  const map = await findColumnMap(store, options.columnMap);
  if (map === null) {
    const known = (await listColumnMaps(store)).map(({ name }) => name);
    throw new Refusal('invalid-request', `There is no column map named ${options.columnMap}.`, [
      fieldError(
        'columnMap',
        options.columnMap,
        'no column map has this name',
        known.length > 0 ? `one of: ${known.join(', ')}` : 'the name of a saved column map',
      ),
    ]);
  }
  return {
    ...map.reading,
    ...options,
    columns: { ...map.reading.columns, ...options.columns },
    units: { ...map.reading.units, ...options.units },
  };
}
