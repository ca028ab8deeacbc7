import { say } from '../words/i18n.ts';
import type { Picture } from './picture.ts';

/** Classes side by side: their edges (one more than classes) and how many values each holds. */
export interface Classes {
  readonly edges: readonly number[];
  readonly counts: readonly number[];
}

export interface HistogramInput {
  readonly title: string;
  readonly label: string;
  readonly unit: string;
  /** As the server made them, in the unit of the chart. */
  readonly classes: Classes;
  /** Specification limits in the same unit, where there are any. */
  readonly lowerLimit?: number | null;
  readonly upperLimit?: number | null;
  readonly mean?: number | null;
}

/** A histogram with its limits and its mean as lines. */
export function histogramPicture(input: HistogramInput): Picture {
  const { edges, counts } = input.classes;
  const points = counts.map((count, i) => ({ x: edges[i], y: count }));
  if (edges.length > 0) points.push({ x: edges[edges.length - 1], y: 0 });
  const limits = [
    { at: input.lowerLimit, name: say('charts.lowerLimit'), ink: 1, dash: 'dashed' as const },
    { at: input.upperLimit, name: say('charts.upperLimit'), ink: 1, dash: 'dashed' as const },
    { at: input.mean, name: say('charts.mean'), ink: 7, dash: 'dotted' as const },
  ];
  const lines = limits.flatMap(({ at, ...rest }) =>
    at === null || at === undefined ? [] : [{ axis: 'x' as const, at, ...rest }],
  );
  return {
    title: input.title,
    x: { label: input.label, unit: input.unit, ...rangeWith(edges, lines) },
    y: { label: say('charts.cells'), unit: '', min: 0, whole: true },
    series: [{ name: say('charts.cellsInClassFrom'), points, draw: 'filled-steps', ink: 0, shape: 'none' }],
    lines,
  };
}

function rangeWith(
  edges: readonly number[],
  lines: readonly { readonly at: number }[],
): { min?: number; max?: number } {
  const all = [...edges, ...lines.map((l) => l.at)];
  if (all.length === 0) return {};
  const min = Math.min(...all);
  const max = Math.max(...all);
  const margin = (max - min) * 0.04 || Math.abs(max) * 0.01 || 1;
  return { min: min - margin, max: max + margin };
}
