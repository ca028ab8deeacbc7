import { written } from '../format/number.ts';
import type { Area, Picture } from './picture.ts';

export interface HeatField {
  readonly x: number;
  readonly y: number;
  readonly value: number | null;
}

/** How strongly a hole is drawn: a grey that is not on the ramp, so that it cannot pass for a low value. */
const holeStrength = 0.16;

/**
 * A heat map: one field around each (x, y) of the grid, coloured by value and carrying it as text. Fields without a
 * value are holes: grey, and without text. Edges lie half-way between neighbouring grid values.
 */
export function heatMapPicture(
  title: string,
  x: { readonly label: string; readonly unit: string },
  y: { readonly label: string; readonly unit: string },
  field: { readonly label: string; readonly unit: string },
  fields: readonly HeatField[],
): Picture {
  const columns = edgesOf(fields.map((f) => f.x));
  const rows = edgesOf(fields.map((f) => f.y));
  const values = fields.flatMap((f) => (f.value === null ? [] : [f.value]));
  const low = Math.min(...values);
  const high = Math.max(...values);
  const areas = fields.map((f): Area => {
    const [from, to] = columns.get(f.x)!;
    const [bottom, top] = rows.get(f.y)!;
    const fraction = f.value === null ? 0 : high === low ? 0.5 : (f.value - low) / (high - low);
    return {
      from,
      to,
      low: bottom,
      high: top,
      ink: 7,
      strength: f.value === null ? holeStrength : fraction,
      ramp: f.value !== null,
      value: f.value,
      at: { x: f.x, y: f.y },
    };
  });
  return {
    title,
    x: { ...x, ...outer(columns), ticks: ticksOf(columns) },
    y: { ...y, ...outer(rows), ticks: ticksOf(rows) },
    field,
    series: [],
    areas,
  };
}

function ticksOf(edges: ReadonlyMap<number, readonly [number, number]>): { at: number; name: string }[] {
  return [...edges].map(([at]) => ({ at, name: written(String(Number(at.toPrecision(3)))) }));
}

function edgesOf(values: readonly number[]): Map<number, readonly [number, number]> {
  const grid = [...new Set(values)].sort((a, b) => a - b);
  const map = new Map<number, readonly [number, number]>();
  grid.forEach((value, i) => {
    const below = i > 0 ? (value - grid[i - 1]) / 2 : null;
    const above = i < grid.length - 1 ? (grid[i + 1] - value) / 2 : null;
    map.set(value, [value - (below ?? above ?? 0.5), value + (above ?? below ?? 0.5)]);
  });
  return map;
}

function outer(edges: ReadonlyMap<number, readonly [number, number]>): { min?: number; max?: number } {
  if (edges.size === 0) return {};
  const all = [...edges.values()];
  return { min: Math.min(...all.map((e) => e[0])), max: Math.max(...all.map((e) => e[1])) };
}
