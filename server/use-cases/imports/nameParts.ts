import { fieldError, Refusal } from '../../errors.ts';
import type { NameParts } from '../../import/namePattern.ts';
import { compileNamePattern } from '../../import/namePattern.ts';
import { findNamePattern } from '../../store/columnMaps.ts';
import type { Store } from '../../store/store.ts';

/** Where nothing is looked for in the name. */
export const nothingInName: NameParts = {
  cell: null,
  testKind: null,
  temperatureC: null,
  startSoc: null,
  label: null,
};

/** The refusal of a file whose name does not fit the pattern. */
export class NameDoesNotFit extends Refusal {}

/**
 * What a file's name tells under a pattern, given as itself or by the name it was saved under.
 *
 * @throws Refusal naming the pattern where it cannot be used or the name does not fit it
 */
export async function nameParts(
  store: Store,
  fileName: string,
  pattern: string | undefined,
): Promise<NameParts> {
  if (pattern === undefined) return nothingInName;
  const saved = await findNamePattern(store, pattern);
  let match: ReturnType<typeof compileNamePattern>;
  try {
    match = compileNamePattern(saved?.pattern ?? pattern);
  } catch (error) {
    throw new Refusal('invalid-request', `The name pattern cannot be used: ${(error as Error).message}.`, [
      fieldError(
        'namePattern',
        pattern,
        (error as Error).message,
        'for example {cell}_{kind}_{temperature}C.csv',
      ),
    ]);
  }
  const base = fileName.replace(/^.*[/\\]/, '').replace(/\.gz$/i, '');
  const parts = match(base);
  if (parts !== null) return parts;
  throw new NameDoesNotFit(
    'invalid-request',
    `The file name ${base} does not fit the pattern ${saved?.pattern ?? pattern}.`,
    [fieldError('namePattern', base, 'does not fit the pattern', `a name like ${saved?.pattern ?? pattern}`)],
  );
}
