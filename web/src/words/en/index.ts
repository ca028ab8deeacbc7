import { ageing } from './ageing.ts';
import { cells } from './cells.ts';
import { cellTypes } from './cellTypes.ts';
import { charge } from './charge.ts';
import { charts } from './charts.ts';
import { exports } from './exports.ts';
import { general } from './general.ts';
import { imports } from './import.ts';
import { jobs } from './jobs.ts';
import { lots } from './lots.ts';
import { measurements } from './measurements.ts';
import { pairings } from './pairings.ts';
import { report } from './report.ts';
import { stackLogs } from './stackLogs.ts';
import { stacks } from './stacks.ts';
import { supplyParts } from './supplyParts.ts';
import { test } from './test.ts';
import { words } from './words.ts';

/** Every text of the pages in English, by room. */
export const en = {
  general,
  words,
  charts,
  lots,
  cellTypes,
  report,
  cells,
  stacks,
  ageing,
  measurements,
  test,
  pairings,
  charge,
  stackLogs,
  supplyParts,
  exports,
  import: imports,
  jobs,
} as const;
