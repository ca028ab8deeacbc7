import { plainCode } from './reasons.ts';

/** What happened, by the code of the action. */
const actions: Readonly<Record<string, string>> = {
  'cell.created': 'Cell added',
  'cell.changed': 'Cell changed',
  'cell.set-aside': 'Set aside',
  'cell.available': 'Available again',
  'cell.retired': 'Cell retired',
  'cell.noted': 'Note added',
  'stack.noted': 'Note added',
  'file.taken': 'File imported',
  'file.refused': 'File refused',
  'file.undone': 'Import undone',
  'file.restored': 'Import restored',
  'test.evaluated': 'Test evaluated',
  'pairing.made': 'Paired',
  'pair.accepted': 'Pair accepted',
  'pair.rejected': 'Pair rejected',
  'stack.planned': 'Stack planned',
  'stack.built': 'Marked as built',
  'stack.retired': 'Stack retired',
  'stack.taken-back': 'Taken back',
  'stack.changed': 'Stack changed',
  'stack-log.taken': 'Measured charge imported',
  'stack-log.evaluated': 'Measured charge evaluated',
};

/** An entry of a history in words. */
export function actionWords(code: string): string {
  return actions[code] ?? plainCode(code);
}

/** The details of an entry that a person reads: names of fields that were sent are not among them. */
export function detailWords(detail: Readonly<Record<string, string | number | boolean | null>>): string {
  const parts = Object.entries(detail).flatMap(([name, value]) => {
    if (value === null || value === '' || name === 'fields') return [];
    if (name === 'proven') return [value === true ? 'proven best' : 'not proven'];
    return [`${plainName(name)} ${String(value)}`];
  });
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}

/** `checkUpDueAt` → `check up due at`: the names that programs see, as words. */
function plainName(name: string): string {
  return name.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase();
}
