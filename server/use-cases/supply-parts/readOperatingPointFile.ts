import type { OperatingPointList } from '../../contract/supplyParts.ts';
import { fieldError, Refusal } from '../../errors.ts';
import { bufferSource } from '../../import/byteSource.ts';
import { parseChoice } from '../../import/columnChoice.ts';
import { readOperatingPoints } from '../../import/operatingPoints.ts';
import { readTable } from '../../import/readTableFile.ts';

/**
 * Operating points of a converter from the bytes of a table; nothing is stored.
 *
 * @param columns as the `--columns` option has it
 * @throws RefusedFile naming row, column and value; Refusal `invalid-request` for columns that cannot be read
 */
export async function readOperatingPointFile(
  bytes: Uint8Array,
  columns: string | undefined,
): Promise<OperatingPointList> {
  const chosen = columns === undefined ? {} : choiceOf(columns);
  const read = readOperatingPoints(await readTable(bufferSource(bytes)), chosen);
  return { points: [...read.points], columns: [...read.columns], unused: [...read.unused] };
}

function choiceOf(columns: string): ReturnType<typeof parseChoice> {
  try {
    return parseChoice(columns);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new Refusal('invalid-request', 'The columns cannot be read.', [
      fieldError('columns', columns, error.message, 'ROLE=NAME, separated by commas'),
    ]);
  }
}
