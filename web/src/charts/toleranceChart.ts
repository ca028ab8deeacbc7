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
    title: 'Pairs against tolerance',
    x: { label: 'Tolerances, as a multiple of the chosen ones', unit: '' },
    y: { label: 'Pairs', unit: '', min: 0, whole: true },
    series: [
      {
        name: 'Pairs within tolerance',
        points: sorted.map((s) => ({ x: s.factor, y: s.pairs })),
        draw: 'line-and-points',
        ink: 0,
        shape: 'circle',
      },
    ],
    lines: [
      { axis: 'x', at: 1, name: 'chosen', ink: 7, dash: 'dotted' },
      ...(mostPossible === null
        ? []
        : [
            {
              axis: 'y',
              at: mostPossible,
              name: 'every cell paired',
              ink: 2,
              dash: 'dashed',
            } as const,
          ]),
    ],
  };
}
