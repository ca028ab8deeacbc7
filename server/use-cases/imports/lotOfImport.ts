import type { ImportOptions } from '../../contract/import.ts';
import type { Lot } from '../../contract/lots.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { findLot, findLotByName } from '../../store/lots.ts';
import { findStack, findStackId } from '../../store/stacks.ts';
import type { Store } from '../../store/store.ts';

/**
 * The lot that an import belongs to: the one named, or that of the first cell of the stack named; null where neither leads to one.
 */
export async function findLotOfImport(store: Store, options: ImportOptions): Promise<Lot | null> {
  if (options.lot !== undefined) return findLotByName(store, options.lot);
  if (options.stack === undefined) return null;
  const stackId = await findStackId(store, options.stack);
  const stack = stackId === null ? null : await findStack(store, stackId);
  return stack === null || stack.cells.length === 0 ? null : findLot(store, stack.cells[0].lotId);
}

/** As {@link findLotOfImport}. @throws Refusal `invalid-request` where there is none */
export async function lotOfImport(store: Store, options: ImportOptions): Promise<Lot> {
  const lot = await findLotOfImport(store, options);
  if (lot !== null) return lot;
  if (options.lot === undefined && options.stack !== undefined)
    throw new Refusal('invalid-request', 'There is no such stack.', [
      fieldError('stack', options.stack, 'no stack has this name', 'the name of an existing stack'),
    ]);
  throw new Refusal('invalid-request', 'An import needs the lot its cells belong to.', [
    fieldError('lot', options.lot, 'no lot has this name', 'the name of an existing lot'),
  ]);
}
