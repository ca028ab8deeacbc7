/** A value estimated beside an amplitude that may not be there at all, in one linear fit. */
export interface BesideAmplitude {
  readonly value: number;
  readonly amplitude: number;
  /** Variance of the value, its covariance with the amplitude, and the amplitude's variance. */
  readonly own: number;
  readonly shared: number;
  readonly ofAmplitude: number;
}

/** The value once the amplitude is held to what is likely of it, and how well the data support the amplitude. */
export interface ValueWithPrior {
  readonly value: number;
  readonly variance: number;
  /** Bayes factor against no amplitude, at most e³⁰. */
  readonly support: number;
}

/** Beyond this ln of a Bayes factor the alternative counts for nothing anyway. */
const LARGEST_SUPPORT = 30;

/**
 * Holds the amplitude of a linear fit to a normal prior, and weighs the fit against the one without it (Kass and Raftery, J. Am.
 * Stat. Assoc. 90 (1995) 773, from memory).
 *
 * @returns null where the fit does not determine the value
 */
export function withPrior(
  { value, amplitude, own, shared, ofAmplitude }: BesideAmplitude,
  prior: { readonly mean: number; readonly variance: number },
): ValueWithPrior | null {
  const spread = ofAmplitude + prior.variance;
  const pull = shared / spread;
  const variance = own - pull * shared;
  const support =
    (amplitude ** 2 / ofAmplitude -
      (amplitude - prior.mean) ** 2 / spread -
      Math.log1p(prior.variance / ofAmplitude)) /
    2;
  if (!Number.isFinite(support) || !(variance >= 0)) return null;
  return {
    value: value - pull * (amplitude - prior.mean),
    variance,
    support: Math.exp(Math.min(support, LARGEST_SUPPORT)),
  };
}
