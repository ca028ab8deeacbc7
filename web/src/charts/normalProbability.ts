import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';

export interface NamedValue {
  readonly name: string;
  readonly value: number;
  /** Normal score of its place in the order, as the server gives it. */
  readonly score: number;
  readonly outlier?: boolean;
}

/**
 * Normal-probability plot: values against their normal scores, with the line through the quartiles. Points on a line:
 * the lot is normally distributed.
 */
export function normalProbabilityPicture(
  title: string,
  label: string,
  unit: string,
  values: readonly NamedValue[],
): Picture {
  const sorted = [...values].sort((a, b) => a.value - b.value);
  const scored = sorted.map((v) => ({
    x: v.value,
    y: v.score,
    name: v.name,
    outlier: v.outlier === true,
  }));
  const guide = quartileLine(scored);
  return {
    title,
    x: { label, unit },
    // The points fill the sheet: beyond an outlier the line would run on for many standard deviations.
    y: { label: say('charts.normalScore'), unit: 'sd', ...scoreRange(scored) },
    series: [
      {
        name: say('charts.cells'),
        points: scored.filter((p) => !p.outlier).map(bare),
        draw: 'points',
        ink: 0,
        shape: 'circle',
      },
      {
        name: say('charts.outliers'),
        points: scored.filter((p) => p.outlier).map(bare),
        draw: 'points',
        ink: 1,
        shape: 'triangle',
      },
      ...(guide === null
        ? []
        : [
            {
              name: say('charts.throughTheQuartiles'),
              points: guide,
              draw: 'line',
              ink: 7,
              dash: 'dashed',
            } as const,
          ]),
    ],
  };
}

interface Scored {
  readonly x: number;
  readonly y: number;
  readonly name: string;
}

function scoreRange(scored: readonly Scored[]): { min?: number; max?: number } {
  if (scored.length === 0) return {};
  const most = Math.ceil(2 * Math.max(1, -scored[0].y, scored[scored.length - 1].y)) / 2 + 0.5;
  return { min: -most, max: most };
}

function bare({ x, y, name }: Scored): Scored {
  return { x, y, name };
}

function quartileLine(scored: readonly Scored[]): { x: number; y: number }[] | null {
  if (scored.length < 4) return null;
  const first = scored[Math.floor((scored.length - 1) * 0.25)];
  const third = scored[Math.ceil((scored.length - 1) * 0.75)];
  if (third.x === first.x) return null;
  const slope = (third.y - first.y) / (third.x - first.x);
  return [scored[0], scored[scored.length - 1]].map((end) => ({
    x: end.x,
    y: first.y + slope * (end.x - first.x),
  }));
}
