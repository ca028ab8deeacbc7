import { say } from './i18n.ts';
import { plainCode } from './reasons.ts';

/** What happened, by the code of the action. */
const actions: Readonly<Record<string, string>> = {
  'cell.created': say('words.cellAdded'),
  'cell.changed': say('words.cellChanged'),
  'cell.set-aside': say('words.setAside'),
  'cell.available': say('words.availableAgain'),
  'cell.retired': say('words.cellRetired'),
  'cell.noted': say('words.noteAdded'),
  'stack.noted': say('words.noteAdded'),
  'stack.traveller': say('words.resultsOfTheTravellerKept'),
  'file.taken': say('words.fileImported'),
  'file.refused': say('words.fileRefused'),
  'file.undone': say('words.importUndone2'),
  'file.restored': say('words.importRestored'),
  'test.evaluated': say('words.testEvaluated'),
  'pairing.made': say('words.paired'),
  'pair.accepted': say('words.pairAccepted'),
  'pair.rejected': say('words.pairRejected'),
  'stack.planned': say('words.stackPlanned'),
  'stack.built': say('words.markedAsBuilt'),
  'stack.retired': say('words.stackRetired'),
  'stack.taken-back': say('words.takenBack'),
  'stack.changed': say('words.stackChanged'),
  'stack-log.taken': say('words.measuredChargeImported'),
  'stack-log.evaluated': say('words.measuredChargeEvaluated'),
};

/** An entry of a history in words. */
export function actionWords(code: string): string {
  return actions[code] ?? plainCode(code);
}

/** The details of an entry that a person reads: names of fields that were sent are not among them. */
export function detailWords(detail: Readonly<Record<string, string | number | boolean | null>>): string {
  const parts = Object.entries(detail).flatMap(([name, value]) => {
    if (value === null || value === '' || name === 'fields') return [];
    if (name === 'proven') return [value === true ? say('words.provenBest') : say('words.notProven')];
    return [`${plainName(name)} ${String(value)}`];
  });
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}

/** `checkUpDueAt` → `check up due at`: the names that programs see, as words. */
function plainName(name: string): string {
  return name.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase();
}
