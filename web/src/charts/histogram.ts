import type { Picture } from './picture.ts';

export interface HistogramInput {
  readonly title: string;
  readonly label: string;
  readonly unit: string;
  readonly values: readonly number[];
  /** Specification limits in the same unit, where there are any. */
  readonly lowerLimit?: number | null;
  readonly upperLimit?: number | null;
  readonly mean?: number | null;
}

/** Equal classes that cover `values`: their edges (one more than classes) and counts. */
export interface Classes {
  readonly edges: readonly number[];
  readonly counts: readonly number[];
}

/**
 * Classes by the rule of Freedman and Diaconis (1981): width 2 · IQR / n^(1/3), rounded to 1, 2 or 5 times a power of
 * ten; one class where all values are equal (to twelve digits). Values must be finite.
 */
export function classesOf(values: readonly number[]): Classes {
  if (values.length === 0) return { edges: [], counts: [] };
  const sorted = [...values].sort((a, b) => a - b);
  const low = sorted[0];
  const high = sorted[sorted.length - 1];
  if (high - low <= Math.max(1e-12 * Math.max(Math.abs(low), Math.abs(high)), Number.MIN_VALUE * 1e20)) {
    const half = Math.max(Math.abs(low) * 0.005, 1e-12);
    return { edges: [low - half, low + half], counts: [values.length] };
  }
  const spread = quantile(sorted, 0.75) - quantile(sorted, 0.25) || (high - low) / 2;
  const wanted = (2 * spread) / Math.cbrt(values.length);
  const width = roundWidth(Math.max(wanted, (high - low) / 40));
  const start = Math.floor(low / width);
  const count = Math.floor(high / width) - start + 1;
  const counts = new Array<number>(count).fill(0);
  for (const value of values) counts[Math.min(count - 1, Math.floor(value / width) - start)]++;
  return { edges: Array.from({ length: count + 1 }, (_, i) => (start + i) * width), counts };
}

function roundWidth(width: number): number {
  const power = 10 ** Math.floor(Math.log10(width));
  const lead = width / power;
  return (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10) * power;
}

function quantile(sorted: readonly number[], fraction: number): number {
  const at = (sorted.length - 1) * fraction;
  const below = Math.floor(at);
  const above = Math.min(below + 1, sorted.length - 1);
  return sorted[below] + (at - below) * (sorted[above] - sorted[below]);
}

/** A histogram with its limits and its mean as lines. */
export function histogramPicture(input: HistogramInput): Picture {
  const { edges, counts } = classesOf(input.values);
  const points = counts.map((count, i) => ({ x: edges[i], y: count }));
  if (edges.length > 0) points.push({ x: edges[edges.length - 1], y: 0 });
  const limits = [
    { at: input.lowerLimit, name: 'lower limit', ink: 1, dash: 'dashed' as const },
    { at: input.upperLimit, name: 'upper limit', ink: 1, dash: 'dashed' as const },
    { at: input.mean, name: 'mean', ink: 7, dash: 'dotted' as const },
  ];
  const lines = limits.flatMap(({ at, ...rest }) =>
    at === null || at === undefined ? [] : [{ axis: 'x' as const, at, ...rest }],
  );
  return {
    title: input.title,
    x: { label: input.label, unit: input.unit, ...rangeWith(edges, lines) },
    y: { label: 'Cells', unit: '', min: 0 },
    series: [{ name: 'Cells in class from', points, draw: 'filled-steps', ink: 0, shape: 'none' }],
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
