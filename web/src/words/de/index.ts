import type { Texts } from '../i18n.ts';
import { ageing } from './ageing.ts';
import { asked } from './asked.ts';
import { cautions } from './cautions.ts';
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
import { reasons } from './reasons.ts';
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

/** Every text of the pages in German, by room. */
export const de: Texts = {
  asked,
  codes,
  samples,
  sentences,
  reasons,
  cautions,
  ageing,
  cellTypes,
  cells,
  charge,
  charts,
  exports,
  general,
  import: imports,
  jobs,
  lots,
  measurements,
  pairings,
  groups,
  problems,
  refusals,
  report,
  stackLogs,
  stacks,
  studyNotes,
  supplyParts,
  test,
  words,
};
