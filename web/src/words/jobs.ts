import type { JobKind } from '../../../server/contract/jobs.ts';
import { say } from './i18n.ts';

/** What a job does. */
export const jobWords: Readonly<Record<JobKind, string>> = {
  import: say('words.import'),
  'evaluate-test': say('words.evaluationOfATest'),
  'evaluate-lot': say('words.evaluationOfALot'),
  pair: say('words.pairing'),
  'charge-study': say('words.chargeStudy'),
  'charge-log': say('words.evaluationOfAMeasuredCharge'),
  ageing: say('words.ageingOfALot'),
  export: say('words.export'),
  backup: say('words.backup'),
};
