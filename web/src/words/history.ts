import { say } from './i18n.ts';
import { plainCode, reasonSentence } from './reasons.ts';

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
  'test.changed': say('words.testChanged'),
  'test.opened': say('words.testOpened'),
  'test.sealed': say('words.testSealed'),
  'pairing.exchanged': say('words.cellsExchanged'),
  'cell.exported': say('words.exported'),
  'stack.exported': say('words.exported'),
  'pair.exported': say('words.exported'),
  'pairing.exported': say('words.exported'),
  'charge-study.exported': say('words.exported'),
  'lot.exported': say('words.exported'),
  'measurement.counted': say('words.valueCountsAgain'),
  'measurement.left-out': say('words.valueLeftOut'),
  'charge-study.made': say('words.chargeStudyKept'),
  'charge-study.removed': say('words.chargeStudyRemoved'),
  'charge-study.computed': say('words.chargeStudyComputed'),
  'stack-log.opened': say('words.measuredChargeOpened'),
  'stack-log.taken-over': say('words.measuredChargeTakenOver'),
};

/** An entry of a history in words. */
export function actionWords(code: string): string {
  return actions[code] ?? plainCode(code);
}

type Detail = string | number | boolean;

/** The details of an entry that a person reads; identifiers, hashes and versions are for programs and not among them. */
const details: Readonly<Record<string, (value: Detail) => string>> = {
  name: String,
  file: String,
  cells: String,
  first: String,
  second: String,
  format: String,
  reason: String,
  kind: (value) => plainCode(String(value)),
  pairs: (value) => say('words.pairsInHistory', { pairs: String(value) }),
  proven: (value) => say(value === true ? 'words.provenBest' : 'words.notProven'),
  code: (value) => reasonSentence(String(value)),
};

/** What stands behind an entry in brackets. */
export function detailWords(detail: Readonly<Record<string, Detail | null>>): string {
  const parts = Object.entries(detail).flatMap(([name, value]) => {
    const written = Object.hasOwn(details, name) ? details[name] : undefined;
    return value === null || value === '' || written === undefined ? [] : [written(value)];
  });
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}
