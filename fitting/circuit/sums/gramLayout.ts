/**
 * What a circuit model is made of. Of what earlier currents left behind, the first `history` terms decay with the
 * branches' own time constants; one more than there are branches has a time constant of its own.
 */
export interface CircuitShape {
  readonly branches: number;
  readonly withSlope: boolean;
  readonly history: number;
}

/**
 * Where the columns of the circuit model stand in the Gram matrix: 1 (OCV), i (R0), [q (slope)], the states u₁…uₙ
 * that the current drives and e₁…eₕ that only decay, their derivatives to ln τ, voltage.
 */
export interface GramLayout {
  /** States with a time constant: those of the branches, then those of the history. */
  readonly branches: number;
  readonly withSlope: boolean;
  /** Column of u₁: 2, or 3 with the slope. */
  readonly firstBranch: number;
  /** Side of the matrix; entry (row, column) is at row · side + column. */
  readonly side: number;
}

export function gramLayout({ branches, withSlope, history }: CircuitShape): GramLayout {
  const firstBranch = withSlope ? 3 : 2;
  const states = branches + history;
  return { branches: states, withSlope, firstBranch, side: firstBranch + 2 * states + 1 };
}

/** Which time constant each state has, in the order of the states. */
export function tauOfStates({ branches, history }: CircuitShape): number[] {
  return Array.from({ length: branches + history }, (_, s) => (s < branches ? s : s - branches));
}

/**
 * The states: u and its derivative to ln τ, at the end of the run treated last. A branch's is a current in A that
 * starts from 0; what the history left starts from 1.
 */
export interface BranchState {
  readonly tauS: Float64Array;
  /** 1 where the current drives the state, 0 where it only decays. */
  readonly driven: Float64Array;
  readonly u: Float64Array;
  readonly d: Float64Array;
}
