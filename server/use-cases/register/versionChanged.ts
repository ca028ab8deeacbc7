import { fieldError, Refusal } from '../../errors.ts';

/** The refusal of a change that is based on an old reading. */
export function versionChanged(named: number, present: number): Refusal {
  return new Refusal(
    'version-changed',
    `Someone changed this meanwhile: version ${named} was read, ${present} is stored.`,
    [
      fieldError(
        'If-Match',
        named,
        'is no longer the stored version',
        `"${present}", after reading it again`,
      ),
    ],
  );
}
