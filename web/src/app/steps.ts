import type { Overview } from '../../../server/contract/overview.ts';

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
  { name: 'Lots', path: '/lots', count: (o) => o.counts.lots, waiting: () => [] },
  {
    name: 'Cells',
    path: '/cells',
    count: (o) => o.counts.cells,
    waiting: (o) =>
      waits(
        o.waiting.cellsWithoutNeededValue,
        'lacks capacity or resistance',
        'lack capacity or resistance',
        '/cells?lacking=yes',
      ),
  },
  {
    name: 'Tests',
    path: '/tests',
    count: (o) => o.counts.tests,
    waiting: (o) => [
      ...waits(o.waiting.testsNotEvaluated, 'to evaluate', 'to evaluate', '/tests?evaluated=no'),
      ...waits(
        o.waiting.evaluationsFailed,
        'could not be evaluated',
        'could not be evaluated',
        '/tests?evaluated=failed',
      ),
    ],
  },
  {
    name: 'Pairing',
    path: '/pairings',
    count: (o) => o.counts.pairings,
    waiting: (o) => waits(o.waiting.pairsToConfirm, 'pair to confirm', 'pairs to confirm', '/pairings'),
  },
  {
    name: 'Stacks',
    path: '/stacks',
    count: (o) => o.counts.stacks,
    waiting: (o) => [
      ...waits(o.waiting.stacksToBuild, 'to build', 'to build', '/stacks?state=planned'),
      ...waits(o.waiting.stacksDrifting, 'drifts apart', 'drift apart', '/stacks?state=built'),
      ...waits(o.waiting.stacksDueForCheckUp, 'due for a check-up', 'due for a check-up', '/stacks?due=yes'),
    ],
  },
  { name: 'Ageing', path: '/ageing', count: (o) => o.counts.ageingSeries, waiting: () => [] },
  {
    name: 'Charge studies',
    path: '/charge-studies',
    count: (o) => o.counts.chargeStudies,
    waiting: () => [],
  },
  { name: 'Exports', path: '/exports', count: (o) => o.counts.exports, waiting: () => [] },
];
