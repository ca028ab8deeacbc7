/**
 * What a voltage channel with a first-order lag makes of the circuit's columns.
 *
 * The step response of such a channel is 1 − e^(−t/λ), so the current i becomes the branch current i_λ of a
 * time constant λ. A branch current u of time constant τ becomes (τu − λi_λ)/(τ − λ), by partial fractions of
 * 1/((1 + sτ)(1 + sλ)); the charge q becomes q − λi_λ, because 1/(s(1 + sλ)) = 1/s − λ/(1 + sλ).
 */
export interface ChannelWeights {
  /** Of u in u's own column. */
  readonly own: number;
  /** Of i_λ in it, taken off: own − 1. */
  readonly current: number;
  /** Of u − i_λ in the derivative to ln τ, taken off. */
  readonly slope: number;
}

/** The weights of a branch: τ/(τ − λ), λ/(τ − λ) and τλ/(τ − λ)². */
export function channelWeights(tauS: number, lagS: number): ChannelWeights {
  const apart = tauS - lagS;
  return { own: tauS / apart, current: lagS / apart, slope: (tauS * lagS) / (apart * apart) };
}

/**
 * Turns a state and its derivative to ln τ, in place, into what the channel shows of them.
 *
 * @param laggedCurrentA the current as the channel shows it; null for a state that no current drives
 */
export function branchThroughChannel(
  u: Float64Array,
  d: Float64Array,
  laggedCurrentA: Float64Array | null,
  tauS: number,
  lagS: number,
): void {
  const { own, current, slope } = channelWeights(tauS, lagS);
  for (let k = 0; k < u.length; k++) {
    const through = laggedCurrentA === null ? 0 : laggedCurrentA[k];
    d[k] = own * d[k] - slope * (u[k] - through);
    u[k] = own * u[k] - current * through;
  }
}

/** Charge as the channel shows it. */
export function chargeThroughChannel(
  chargeAs: Float64Array,
  laggedCurrentA: Float64Array,
  lagS: number,
): Float64Array {
  return chargeAs.map((charge, k) => charge - lagS * laggedCurrentA[k]);
}
