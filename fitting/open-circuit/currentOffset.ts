/** A closed discharge and charge between the same two states. */
export interface ClosedCycle {
  readonly dischargeAh: number;
  readonly chargeAh: number;
  readonly dischargeS: number;
  readonly chargeS: number;
}

export interface CurrentOffset {
  /** What the channel reads on top of the true current (positive on charge); null without time. */
  readonly offsetA: number | null;
  /** Charge over discharge amount. */
  readonly ratio: number;
  /** True where the imbalance is beyond what side reactions explain. */
  readonly suspect: boolean;
}

/** Charge may exceed discharge by the charge that side reactions take; the other way round is impossible. */
const LOWEST_RATIO = 0.995;
const HIGHEST_RATIO = 1.03;

/**
 * Looks for an offset of the current channel: over a closed cycle charge and discharge must balance, but for
 * a percent or so of side reactions (common practice). A constant offset x adds x·t to both: (charge −
 * discharge read) = x·(charging + discharging time).
 *
 * @throws RangeError for amounts that are not positive
 */
export function currentOffset(cycle: ClosedCycle): CurrentOffset {
  const { dischargeAh, chargeAh, dischargeS, chargeS } = cycle;
  if (!(dischargeAh > 0) || !(chargeAh > 0)) {
    throw new RangeError(`Amounts must be above 0, got ${dischargeAh} Ah out and ${chargeAh} Ah in`);
  }
  const ratio = chargeAh / dischargeAh;
  const hours = (dischargeS + chargeS) / 3600;
  return {
    offsetA: hours > 0 ? (chargeAh - dischargeAh) / hours : null,
    ratio,
    suspect: ratio < LOWEST_RATIO || ratio > HIGHEST_RATIO,
  };
}
