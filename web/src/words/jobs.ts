import type { JobKind } from '../../../server/contract/jobs.ts';

/** What a job does. */
export const jobWords: Readonly<Record<JobKind, string>> = {
  import: 'Import',
  'evaluate-test': 'Evaluation of a test',
  'evaluate-lot': 'Evaluation of a lot',
  pair: 'Pairing',
  'charge-study': 'Charge study',
  'charge-log': 'Evaluation of a measured charge',
  ageing: 'Ageing of a lot',
  export: 'Export',
  backup: 'Backup',
};
