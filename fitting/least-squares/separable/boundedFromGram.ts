/**
 * Linear least squares with bounds from Gram sums: minimises cᵀAc − 2bᵀc with min ≤ c ≤ max, A = gram's
 * leading p×p block (upper triangle) and b its last column.
 *
 * Method: the active-set iteration of Lawson and Hanson (Solving Least Squares Problems, 1974, chapter 23),
 * extended to two-sided bounds as by Stark and Parker (Computational Statistics 10 (1995) 129). It starts
 * with every bounded parameter at a bound, frees the one with the largest outward pull and steps back to the
 * nearest bound where the freed solution leaves the box; the cost falls every time, so it ends.
 *
 * @param coefficients filled with the solution
 * @param state filled with 0 (between its bounds), 1 (at the lower bound) or 2 (at the upper bound); entries
 * that are 3 on entry (column not determined) stay so and get the value nearest to 0
 */
export function boundedFromGram(
  gram: Float64Array,
  side: number,
  p: number,
  min: Float64Array,
  max: Float64Array,
  coefficients: Float64Array,
  state: Uint8Array,
): void {
  const entry = (i: number, j: number): number => (i <= j ? gram[i * side + j] : gram[j * side + i]);
  const pull = (i: number): number => {
    let sum = gram[i * side + side - 1];
    for (let j = 0; j < p; j++) sum -= entry(i, j) * coefficients[j];
    return sum;
  };
  for (let i = 0; i < p; i++) {
    const finite = min[i] !== -Infinity ? 1 : max[i] !== Infinity ? 2 : 0;
    if (state[i] !== 3) state[i] = finite;
    coefficients[i] =
      finite === 0 || state[i] === 3 ? Math.min(Math.max(0, min[i]), max[i]) : finite === 1 ? min[i] : max[i];
  }
  const trial = new Float64Array(p);
  for (let round = 0; round < 3 * p + 3; round++) {
    for (let inner = 0; inner <= p; inner++) {
      solveFree(entry, gram, side, p, coefficients, state, trial);
      if (!stepToward(trial, min, max, coefficients, state)) break;
    }
    let best = -1;
    let strongest = 1e-14 * Math.sqrt(gram[side * side - 1]);
    for (let i = 0; i < p; i++) {
      if (state[i] !== 1 && state[i] !== 2) continue;
      const length = Math.sqrt(entry(i, i));
      const outward = (state[i] === 1 ? pull(i) : -pull(i)) / length;
      if (outward > strongest) {
        strongest = outward;
        best = i;
      }
    }
    if (best < 0) return;
    state[best] = 0;
  }
}

/** Solves the free parameters with the others held, by Cholesky on the small free block. */
function solveFree(
  entry: (i: number, j: number) => number,
  gram: Float64Array,
  side: number,
  p: number,
  coefficients: Float64Array,
  state: Uint8Array,
  trial: Float64Array,
): void {
  const free: number[] = [];
  for (let i = 0; i < p; i++) if (state[i] === 0) free.push(i);
  const n = free.length;
  const factor = new Float64Array(n * n);
  const z = new Float64Array(n);
  trial.set(coefficients);
  for (let a = 0; a < n; a++) {
    const i = free[a];
    let right = gram[i * side + side - 1];
    for (let j = 0; j < p; j++) if (state[j] !== 0) right -= entry(i, j) * coefficients[j];
    for (let b = 0; b < a; b++) {
      let sum = entry(i, free[b]);
      for (let k = 0; k < b; k++) sum -= factor[a * n + k] * factor[b * n + k];
      factor[a * n + b] = factor[b * n + b] > 0 ? sum / factor[b * n + b] : 0;
      right -= factor[a * n + b] * z[b];
    }
    let rest = entry(i, i);
    for (let k = 0; k < a; k++) rest -= factor[a * n + k] ** 2;
    factor[a * n + a] = rest > 1e-13 * entry(i, i) ? Math.sqrt(rest) : 0;
    z[a] = factor[a * n + a] > 0 ? right / factor[a * n + a] : 0;
  }
  for (let a = n - 1; a >= 0; a--) {
    let sum = z[a];
    for (let b = a + 1; b < n; b++) sum -= factor[b * n + a] * trial[free[b]];
    trial[free[a]] = factor[a * n + a] > 0 ? sum / factor[a * n + a] : coefficients[free[a]];
  }
}

/**
 * Moves to `trial`, or as far as the box allows; what meets a bound is held there. True when something did.
 */
function stepToward(
  trial: Float64Array,
  min: Float64Array,
  max: Float64Array,
  coefficients: Float64Array,
  state: Uint8Array,
): boolean {
  let fraction = 1;
  let meets = -1;
  for (let i = 0; i < trial.length; i++) {
    if (state[i] !== 0) continue;
    const bound = trial[i] < min[i] ? min[i] : trial[i] > max[i] ? max[i] : null;
    if (bound === null) continue;
    const reach = (bound - coefficients[i]) / (trial[i] - coefficients[i]);
    if (reach < fraction || meets < 0) {
      fraction = Math.min(reach, fraction);
      meets = i;
    }
  }
  for (let i = 0; i < trial.length; i++) {
    if (state[i] === 0) coefficients[i] += fraction * (trial[i] - coefficients[i]);
  }
  if (meets < 0) return false;
  state[meets] = trial[meets] < min[meets] ? 1 : 2;
  coefficients[meets] = state[meets] === 1 ? min[meets] : max[meets];
  return true;
}
