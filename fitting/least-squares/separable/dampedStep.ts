/**
 * Solves (H + λ diag H) δ = g over the parameters that may move, by Cholesky; a parameter whose pivot is
 * rounding only does not move. Marquardt's scaling by diag H makes the step independent of units.
 *
 * @param hessian H, row-major n×n
 * @param slopes row-major n×n; against its diagonal (JᵀWJ, before anything was subtracted) a pivot counts as
 * rounding
 * @param movable 1 where the parameter may move
 * @param work n×n scratch
 * @param step filled with δ
 * @returns gᵀδ, for λ = 0 the fall of S that the linearised problem predicts
 */
export function dampedStep(
  hessian: Float64Array,
  n: number,
  gradient: Float64Array,
  damping: number,
  slopes: Float64Array,
  movable: Uint8Array,
  work: Float64Array,
  step: Float64Array,
): number {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const moves = movable[i] === 1 && movable[j] === 1;
      let sum = moves ? hessian[i * n + j] : 0;
      if (i === j) sum *= 1 + damping;
      for (let k = 0; k < j; k++) sum -= work[i * n + k] * work[j * n + k];
      if (i === j) work[i * n + i] = sum > 1e-13 * slopes[i * n + i] ? Math.sqrt(sum) : 0;
      else work[i * n + j] = work[j * n + j] > 0 ? sum / work[j * n + j] : 0;
    }
    if (work[i * n + i] === 0) for (let k = 0; k < i; k++) work[i * n + k] = 0;
  }
  let fall = 0;
  for (let i = 0; i < n; i++) {
    let sum = gradient[i];
    for (let k = 0; k < i; k++) sum -= work[i * n + k] * step[k];
    step[i] = work[i * n + i] > 0 ? sum / work[i * n + i] : 0;
    fall += step[i] * step[i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = step[i];
    for (let k = i + 1; k < n; k++) sum -= work[k * n + i] * step[k];
    step[i] = work[i * n + i] > 0 ? sum / work[i * n + i] : 0;
  }
  return fall;
}
