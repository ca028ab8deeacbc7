import type { Chart, Plugin } from 'chart.js';
import type { Palette } from './palette.ts';
import { seriesColour } from './palette.ts';
import type { Series } from './picture.ts';

/** Height of a name, below which two would lie over each other. */
const LINE = 13;
/** Room at the right edge for the names, in pixels. */
export const roomForNames = 62;

/**
 * Heights of the names so that none lies over another: each as near to the end of its line as the others allow.
 *
 * @param wanted heights of the line ends, in pixels, in any order
 */
export function spreadHeights(wanted: readonly number[], least = LINE): number[] {
  const order = wanted.map((_, i) => i).toSorted((a, b) => wanted[a] - wanted[b]);
  const placed = [...wanted];
  // Each is pushed below the one above it, then the block of those that touch is moved back by half of what it was pushed.
  let block: number[] = [];
  const settle = () => {
    const pushed = block.reduce((sum, i) => sum + placed[i] - wanted[i], 0) / Math.max(1, block.length);
    for (const i of block) placed[i] -= pushed;
  };
  order.forEach((i, k) => {
    const above = k === 0 ? -Infinity : placed[order[k - 1]] + least;
    if (placed[i] < above) {
      placed[i] = above;
    } else {
      settle();
      block = [];
    }
    block.push(i);
  });
  settle();
  // Blocks that were moved back may touch again: a second pass downwards keeps the distance.
  order.forEach((i, k) => {
    if (k > 0) placed[i] = Math.max(placed[i], placed[order[k - 1]] + least);
  });
  return placed;
}

/** Writes the name of each line at its end, in its colour, in place of a legend. */
export function endNames(series: readonly Series[], palette: Palette): Plugin<'line'> {
  return {
    id: 'endNames',
    afterDatasetsDraw(chart) {
      const ends = endsOf(chart, series);
      const heights = spreadHeights(ends.map((end) => end.y));
      const { ctx, chartArea } = chart;
      ctx.save();
      ctx.font = `12px ${chart.options.font?.family ?? 'sans-serif'}`;
      ctx.textBaseline = 'middle';
      ends.forEach((end, k) => {
        ctx.fillStyle = seriesColour(palette, end.series.ink);
        ctx.fillText(end.series.name, chartArea.right + 6, heights[k]);
      });
      ctx.restore();
    },
  };
}

/** The lines that are in sight, with the height of their last point in sight. */
function endsOf(chart: Chart<'line'>, series: readonly Series[]): { series: Series; y: number }[] {
  const { x, y } = chart.scales;
  return series.flatMap((one) => {
    if (one.quiet === true) return [];
    const last = one.points.findLast((p) => p.y !== null && p.x >= x.min && p.x <= x.max);
    if (last === undefined || last.y === null) return [];
    return [{ series: one, y: y.getPixelForValue(last.y) }];
  });
}
