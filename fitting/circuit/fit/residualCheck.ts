/** What the residuals of a fit, in their order, say about its errors. */
export interface ResidualCheck {
  readonly verdict: 'white' | 'correlated' | 'too-few';
  readonly lagOneCorrelation: number | null;
  readonly largestV: number;
  /** How many rows carry the information of one independent row: 1 for white residuals. */
  readonly rowsPerIndependent: number;
}

/**
 * Looks for correlation between neighbouring residuals: what noise does not explain is then the model's or
 * the quantisation's doing, and standard errors that take the rows for independent are too small.
 *
 * White: |ρ₁| below 3.3/√n (a chance of 0.1 %). Else the rows per independent row are 1 + 2Σρₖ, summed in
 * pairs of lags while a pair is positive (the initial positive sequence of Geyer, Statistical Science 7
 * (1992) 473), up to a quarter of the rows. Below that noise, a slow pattern shows in the means of blocks of rows
 * (`slowCorrelation`).
 */
export function checkResiduals(residuals: Float64Array): ResidualCheck {
  const n = residuals.length;
  let largestV = 0;
  let square = 0;
  for (const residual of residuals) {
    largestV = Math.max(largestV, Math.abs(residual));
    square += residual * residual;
  }
  if (n < 8 || !(square > 0)) {
    return { verdict: 'too-few', lagOneCorrelation: null, largestV, rowsPerIndependent: 1 };
  }
  const correlation = (lag: number): number => {
    let sum = 0;
    for (let i = lag; i < n; i++) sum += residuals[i] * residuals[i - lag];
    return sum / square;
  };
  const first = correlation(1);
  if (Math.abs(first) < 3.3 / Math.sqrt(n)) {
    const slow = slowCorrelation(residuals, square / n);
    const verdict = slow === null ? 'white' : 'correlated';
    return { verdict, lagOneCorrelation: first, largestV, rowsPerIndependent: slow ?? 1 };
  }
  let rows = 1 + 2 * first;
  for (let lag = 2; lag + 1 <= n / 4; lag += 2) {
    const pair = correlation(lag) + correlation(lag + 1);
    if (pair <= 0 || rows > n / 8) break;
    rows += 2 * pair;
  }
  return {
    verdict: 'correlated',
    lagOneCorrelation: first,
    largestV,
    rowsPerIndependent: Math.max(1, Math.min(rows, n / 8)),
  };
}

/** Factor between the lengths of the blocks, and the fewest blocks of one length. */
const LONGER = 4;
const FEWEST_BLOCKS = 16;
/** Standard deviations by which the means of blocks must scatter more than those of independent rows (a chance below 0.1 %). */
const SCATTERS = 5;

/**
 * The rows per independent row that the means of blocks of 4, 16, 64 … rows show: their variance against that of independent rows,
 * the variance-ratio test (Lo and MacKinlay, Rev. Financial Studies 1 (1988) 41, from memory).
 *
 * @returns null where no length of blocks shows any
 */
function slowCorrelation(residuals: Float64Array, variance: number): number | null {
  const n = residuals.length;
  let most: number | null = null;
  for (let rows = LONGER; n / rows >= FEWEST_BLOCKS; rows *= LONGER) {
    const blocks = Math.floor(n / rows);
    let squares = 0;
    for (let b = 0; b < blocks; b++) {
      let sum = 0;
      for (let i = b * rows; i < (b + 1) * rows; i++) sum += residuals[i];
      squares += sum * sum;
    }
    const ratio = squares / (blocks * rows * variance);
    if (ratio > Math.max(1 + SCATTERS * Math.sqrt(2 / blocks), most ?? 0)) most = ratio;
  }
  return most;
}
