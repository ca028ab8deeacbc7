import type { Job, JobKind } from '../../../server/contract/jobs.ts';
import { percent } from '../format/number.ts';
import { say } from './i18n.ts';
import { language } from './language.ts';

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

/** How far a job is: in the words of the service where they are the reader's language, else its share. Of one that is done, nothing. */
export function progressWords({ progress, progressText, state }: Job): string {
  if (state === 'done') return '';
  if (language === 'en') return progressText;
  return state === 'running' && progress > 0 ? percent(progress, 0) : '';
}
