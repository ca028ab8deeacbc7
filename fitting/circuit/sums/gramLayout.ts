/**
 * Where the columns of the circuit model stand in the Gram matrix: 1 (OCV), i (R0), [q (slope)], u₁…uₙ,
 * ∂uᵢ/∂ln τᵢ, voltage.
 */
export interface GramLayout {
  readonly branches: number;
  readonly withSlope: boolean;
  /** Column of u₁: 2, or 3 with the slope. */
  readonly firstBranch: number;
  /** Side of the matrix; entry (row, column) is at row · side + column. */
  readonly side: number;
}

export function gramLayout(branches: number, withSlope: boolean): GramLayout {
  const firstBranch = withSlope ? 3 : 2;
  return { branches, withSlope, firstBranch, side: firstBranch + 2 * branches + 1 };
}

/** State of the branches: current u in A and its derivative to ln τ, at the end of the run treated last. */
export interface BranchState {
  readonly tauS: Float64Array;
  readonly u: Float64Array;
  readonly d: Float64Array;
}
