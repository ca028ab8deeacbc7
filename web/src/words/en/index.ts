import { cautionSentences } from '../../../../server/contract/cautions.ts';
import { reasonSentences } from '../../../../server/contract/reasons.ts';
import { ageing } from './ageing.ts';
import { asked } from './asked.ts';
import { cells } from './cells.ts';
import { cellTypes } from './cellTypes.ts';
import { charge } from './charge.ts';
import { charts } from './charts.ts';
import { codes } from './codes.ts';
import { exports } from './exports.ts';
import { general } from './general.ts';
import { groups } from './groups.ts';
import { imports } from './import.ts';
import { jobs } from './jobs.ts';
import { lots } from './lots.ts';
import { measurements } from './measurements.ts';
import { pairings } from './pairings.ts';
import { problems } from './problems.ts';
import { refusals } from './refusals.ts';
import { report } from './report.ts';
import { samples } from './samples.ts';
import { sentences } from './sentences.ts';
import { stackLogs } from './stackLogs.ts';
import { stacks } from './stacks.ts';
import { studyNotes } from './studyNotes.ts';
import { supplyParts } from './supplyParts.ts';
import { test } from './test.ts';
import { words } from './words.ts';

/** Every text of the pages in English, by room; the sentences of reasons and cautions are those of the contract. */
export const en = {
  asked,
  codes,
  samples,
  sentences,
  reasons: reasonSentences,
  cautions: cautionSentences,
  general,
  words,
  charts,
  lots,
  cellTypes,
  problems,
  refusals,
  report,
  cells,
  stacks,
  ageing,
  measurements,
  test,
  pairings,
  groups,
  charge,
  stackLogs,
  studyNotes,
  supplyParts,
  exports,
  import: imports,
  jobs,
} as const;
