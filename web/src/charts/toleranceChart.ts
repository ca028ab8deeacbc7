import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';

export interface ToleranceStep {
  /** The tolerance as a multiple of the one that was chosen. */
  readonly factor: number;
  readonly pairs: number;
  readonly totalCost?: number | null;
}

/** How many pairs there would be if the tolerances were tightened or relaxed, with the chosen ones marked. */
export function tolerancePicture(steps: readonly ToleranceStep[], mostPossible: number | null): Picture {
  const sorted = [...steps].sort((a, b) => a.factor - b.factor);
  return {
    title: say('charts.pairsAgainstTolerance'),
    x: { label: say('charts.tolerancesAsAMultipleOfThe'), unit: '' },
    y: { label: say('charts.pairs'), unit: '', min: 0, whole: true },
    series: [
      {
        name: say('charts.pairsWithinTolerance'),
        points: sorted.map((s) => ({ x: s.factor, y: s.pairs })),
        draw: 'line-and-points',
        ink: 0,
        shape: 'circle',
      },
    ],
    lines: [
      { axis: 'x', at: 1, name: say('charts.chosen2'), ink: 7, dash: 'dotted' },
      ...(mostPossible === null
        ? []
        : [
            {
              axis: 'y',
              at: mostPossible,
              name: say('charts.everyCellPaired'),
              ink: 2,
              dash: 'dashed',
            } as const,
          ]),
    ],
  };
}
