import type { RowRange } from '../../records/index.ts';

/**
 * The rows just after one edge of the current, where a voltage channel that lags has not caught up.
 *
 * When the current really changed between two rows nobody knows, so what is left of the edge,
 * a·exp(−t/lag), has an amplitude of its own there. It is taken out by a reflection that turns exp(−t/lag) on
 * the block's first row (Householder, J. ACM 5 (1958) 339) and by leaving that row out: the same least squares
 * as with the amplitude as one more parameter, in one row less.
 */
export interface LaggedEdge extends RowRange {
  /** exp(−t/lag) over the block, of length 1. */
  readonly shape: Float64Array;
  /** Its length before that: with it, an amplitude along `shape` becomes the one at the edge itself. */
  readonly norm: number;
}

/** A voltage channel that follows the voltage with a first-order lag. */
export interface ChannelLag {
  readonly lagS: number;
  /** In the order of their rows, without overlap. */
  readonly edges: readonly LaggedEdge[];
}

/** How many lags after an edge until nothing is left of it: e⁻⁸ is 0.03 %. */
export const LAGS_TO_SETTLE = 8;

/** The blocks after the edges whose rows are given; `start` is the first row after the edge. */
export function laggedEdges(timeS: Float64Array, blocks: readonly RowRange[], lagS: number): ChannelLag {
  const edges = blocks
    .filter((block) => block.end > block.start)
    .map((block) => {
      const fromS = timeS[block.start - 1];
      const shape = timeS.slice(block.start, block.end).map((time) => Math.exp((fromS - time) / lagS));
      const norm = Math.sqrt(shape.reduce((sum, value) => sum + value * value, 0));
      return { ...block, shape: shape.map((value) => value / norm), norm };
    });
  return { lagS, edges };
}

/**
 * Reflects the values of a block in place so that `shape` lies on its first row; that row is then to be left
 * out. `values` is indexed as the block's rows are, from `offset` on.
 */
export function reflectBlock(edge: LaggedEdge, values: Float64Array, offset: number): void {
  const { shape } = edge;
  // v = shape + (1, 0, …), v·v = 2 + 2·shape₀; shape is positive, so nothing cancels.
  let along = values[offset];
  for (let k = 0; k < shape.length; k++) along += shape[k] * values[offset + k];
  const factor = along / (1 + shape[0]);
  for (let k = 0; k < shape.length; k++) values[offset + k] -= factor * shape[k];
  values[offset] -= factor;
}

/** Part of a block's values along exp(−t/lag), as the amplitude at the edge. */
export function amplitudeAtEdge(edge: LaggedEdge, values: Float64Array): number {
  let along = 0;
  for (let k = 0; k < edge.shape.length; k++) along += edge.shape[k] * values[edge.start + k];
  return along / edge.norm;
}

/** Rows that the blocks count as: one less than they have, each. */
export function rowsOfEdges(lag: ChannelLag): number {
  return lag.edges.reduce((sum, edge) => sum + edge.end - edge.start - 1, 0);
}
