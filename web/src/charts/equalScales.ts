import type { Chart, Plugin } from 'chart.js';

/** Scales whose units differ by less than this on the screen count as equal. */
const TOLERANCE = 0.005;
/** Updates in a row: tick labels change the room, which settles at once. */
const MOST_PASSES = 4;

/**
 * Widens the closer of two ranges at its upper end until both axes have as much of their unit to the pixel.
 *
 * @returns the ranges as they should be, or null where they are equal already
 */
export function equalRanges(
  x: { readonly min: number; readonly max: number; readonly pixels: number },
  y: { readonly min: number; readonly max: number; readonly pixels: number },
): { readonly x: readonly [number, number]; readonly y: readonly [number, number] } | null {
  const perX = (x.max - x.min) / x.pixels;
  const perY = (y.max - y.min) / y.pixels;
  if (!(perX > 0 && perY > 0) || Math.abs(perX / perY - 1) < TOLERANCE) return null;
  const widened = (axis: typeof x, perPixel: number): readonly [number, number] => [
    axis.min,
    axis.min + perPixel * axis.pixels,
  ];
  return perX > perY
    ? { x: [x.min, x.max], y: widened(y, perX) }
    : { x: widened(x, perY), y: [y.min, y.max] };
}

const passes = new WeakMap<Chart, number>();

/** Keeps one unit across as long as one unit up, also after zooming and when the page changes its width. */
export const equalScales: Plugin<'line'> = {
  id: 'equalScales',
  afterUpdate(chart) {
    const pass = passes.get(chart) ?? 0;
    const { x, y } = chart.scales;
    const { x: xOptions, y: yOptions } = chart.options.scales ?? {};
    if (pass >= MOST_PASSES || x === undefined || y === undefined || !xOptions || !yOptions) return;
    const ranges = equalRanges(
      { min: x.min, max: x.max, pixels: x.width },
      { min: y.min, max: y.max, pixels: y.height },
    );
    if (ranges === null) return;
    [xOptions.min, xOptions.max] = ranges.x;
    [yOptions.min, yOptions.max] = ranges.y;
    // The ends are where the room ends, not where a number is round.
    for (const { ticks } of [xOptions, yOptions]) if (ticks) Object.assign(ticks, { includeBounds: false });
    passes.set(chart, pass + 1);
    chart.update('none');
    passes.set(chart, pass);
  },
};
