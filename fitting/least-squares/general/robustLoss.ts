import type { RobustLoss } from './checkProblem.ts';

/**
 * ψ, ψ′ and the weight ψ(u)/u of a loss at the scaled residual u, with tuning constant c.
 * - Huber: ρ = u²/2 for |u| ≤ c, c|u| − c²/2 beyond (Huber 1964).
 * - Tukey's biweight: ψ = u (1 − (u/c)²)² for |u| ≤ c, 0 beyond (Beaton and Tukey 1974).
 */
export function applyLoss(
  loss: Required<RobustLoss>,
  u: number,
): { readonly psi: number; readonly derivative: number; readonly weight: number } {
  const c = loss.tuning;
  const size = Math.abs(u);
  if (loss.kind === 'huber') {
    if (size <= c) return { psi: u, derivative: 1, weight: 1 };
    return { psi: Math.sign(u) * c, derivative: 0, weight: c / size };
  }
  if (size >= c) return { psi: 0, derivative: 0, weight: 0 };
  const rest = 1 - (u / c) ** 2;
  return { psi: u * rest * rest, derivative: rest * (1 - 5 * (u / c) ** 2), weight: rest * rest };
}
