import type { Dash } from './picture.ts';

/** Lengths of strokes and gaps, in pixels. */
export const dashes: Readonly<Record<Dash, number[]>> = {
  solid: [],
  dashed: [7, 4],
  dotted: [2, 3],
  long: [12, 5, 3, 5],
};
