import type { Overview } from '../../../server/contract/overview.ts';
import { say } from '../words/i18n.ts';

/** One station of the way through the job. */
export interface JobStep {
  readonly name: string;
  readonly path: string;
  readonly count: (overview: Overview) => number;
  /** What waits to be done there, in words; empty where nothing waits. */
  readonly waiting: (overview: Overview) => readonly { readonly text: string; readonly path: string }[];
}

function waits(count: number, one: string, many: string, path: string) {
  return count === 0 ? [] : [{ text: `${count} ${count === 1 ? one : many}`, path }];
}

/** The way through the job, in its order. */
export const jobSteps: readonly JobStep[] = [
  { name: say('general.lots'), path: '/lots', count: (o) => o.counts.lots, waiting: () => [] },
  {
    name: say('general.cells'),
    path: '/cells',
    count: (o) => o.counts.cells,
    waiting: (o) =>
      waits(
        o.waiting.cellsWithoutNeededValue,
        say('general.lacksCapacityOrResistance'),
        say('general.lackCapacityOrResistance'),
        '/cells?lacking=yes',
      ),
  },
  {
    name: say('general.tests'),
    path: '/tests',
    count: (o) => o.counts.tests,
    waiting: (o) => [
      ...waits(
        o.waiting.testsNotEvaluated,
        say('general.toEvaluate'),
        say('general.toEvaluate'),
        '/tests?evaluated=no',
      ),
      ...waits(
        o.waiting.evaluationsFailed,
        say('general.couldNotBeEvaluated'),
        say('general.couldNotBeEvaluated'),
        '/tests?evaluated=failed',
      ),
    ],
  },
  {
    name: say('general.pairing'),
    path: '/pairings',
    count: (o) => o.counts.pairings,
    waiting: (o) =>
      waits(
        o.waiting.pairsToConfirm,
        say('general.pairToConfirm'),
        say('general.pairsToConfirm'),
        '/pairings',
      ),
  },
  {
    name: say('general.stacks'),
    path: '/stacks',
    count: (o) => o.counts.stacks,
    waiting: (o) => [
      ...waits(
        o.waiting.stacksToBuild,
        say('general.toBuild'),
        say('general.toBuild'),
        '/stacks?state=planned',
      ),
      ...waits(
        o.waiting.stacksDrifting,
        say('general.driftsApart'),
        say('general.driftApart'),
        '/stacks?state=built',
      ),
      ...waits(
        o.waiting.stacksDueForCheckUp,
        say('general.dueForACheckUp'),
        say('general.dueForACheckUp'),
        '/stacks?due=yes',
      ),
    ],
  },
  { name: say('general.ageing'), path: '/ageing', count: (o) => o.counts.ageingSeries, waiting: () => [] },
  {
    name: say('general.chargeStudies'),
    path: '/charge-studies',
    count: (o) => o.counts.chargeStudies,
    waiting: () => [],
  },
  { name: say('general.exports'), path: '/exports', count: (o) => o.counts.exports, waiting: () => [] },
];
