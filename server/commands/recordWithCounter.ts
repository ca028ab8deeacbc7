import type { RecordColumns } from '../../fitting/records/index.ts';
import { usableChargeCounter } from '../../fitting/records/index.ts';
import { fieldError, Refusal } from '../errors.ts';
import type { RecordFile } from '../import/readRecordFile.ts';
import { namesChargeCounter } from '../import/recognise/quantities.ts';

/**
 * The columns of a file with its charge counter, where it has one that fits the current: the counter bridges gaps.
 *
 * @param asked name of the counter's column, `none`, or undefined to look for one
 * @throws Refusal where the column asked for is not a counter of this current
 */
export function recordWithCounter(file: RecordFile, asked: string | undefined): RecordColumns {
  if (asked === 'none') return file.columns;
  const name = asked ?? Object.keys(file.extra).find(namesChargeCounter);
  if (name === undefined) return file.columns;
  const values = file.extra[name];
  if (values === undefined) {
    throw wrongColumn(name, 'the file has no such column of numbers', Object.keys(file.extra).join(', '));
  }
  const chargeAh = usableChargeCounter(file.columns, values);
  if (chargeAh !== null) return { ...file.columns, chargeAh };
  if (asked !== undefined) {
    throw wrongColumn(name, 'it does not count the charge of this current', 'a signed counter in Ah');
  }
  return file.columns;
}

function wrongColumn(name: string, reason: string, expected: string): Refusal {
  return new Refusal('invalid-request', '--charge-column cannot be used.', [
    fieldError('--charge-column', name, reason, expected),
  ]);
}
