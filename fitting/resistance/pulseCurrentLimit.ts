/**
 * What limits a pulse of a stated duration. Charge and current here are amounts, positive in both directions.
 */
export interface PulseLimitInput {
  readonly soc: number;
  readonly socMin: number;
  readonly socMax: number;
  readonly capacityAh: number;
  readonly durationS: number;
  /** Coulombic efficiency of charging. Default 1. */
  readonly chargeEfficiency?: number;
  readonly ocvV: number;
  /** dOCV/dSOC in V. */
  readonly ocvSlopeV: number;
  readonly minVoltageV: number;
  readonly maxVoltageV: number;
  readonly dischargeResistanceOhm: number;
  readonly chargeResistanceOhm: number;
  /** The maker's ratings. Default none. */
  readonly dischargeRatingA?: number;
  readonly chargeRatingA?: number;
}

export interface PulseLimit {
  readonly socLimitA: number;
  readonly voltageLimitA: number;
  /** The least of all limits, not below 0. */
  readonly currentA: number;
  readonly binding: 'soc' | 'voltage' | 'rating';
}

/**
 * Largest discharge and charge currents that a cell can hold for a pulse without leaving its SOC window, its
 * voltage limits (with the OCV moving along its slope) and its rating: G. L. Plett, J. Power Sources 134
 * (2004) 252. For a stack take the least over its cells.
 *
 * @throws RangeError for a capacity, duration or resistance that is not positive
 */
export function pulseCurrentLimits(input: PulseLimitInput): { discharge: PulseLimit; charge: PulseLimit } {
  for (const name of ['capacityAh', 'durationS', 'dischargeResistanceOhm', 'chargeResistanceOhm'] as const) {
    if (!(input[name] > 0)) throw new RangeError(`${name} is ${input[name]}; it must be above 0`);
  }
  const efficiency = input.chargeEfficiency ?? 1;
  const amountAs = 3600 * input.capacityAh;
  const perAmpere = (input.durationS * input.ocvSlopeV) / amountAs;
  return {
    discharge: least(
      ((input.soc - input.socMin) * amountAs) / input.durationS,
      (input.ocvV - input.minVoltageV) / (input.dischargeResistanceOhm + perAmpere),
      input.dischargeRatingA,
    ),
    charge: least(
      ((input.socMax - input.soc) * amountAs) / (efficiency * input.durationS),
      (input.maxVoltageV - input.ocvV) / (input.chargeResistanceOhm + efficiency * perAmpere),
      input.chargeRatingA,
    ),
  };
}

function least(socLimitA: number, voltageLimitA: number, ratingA = Infinity): PulseLimit {
  const currentA = Math.max(0, Math.min(socLimitA, voltageLimitA, ratingA));
  const binding =
    ratingA <= Math.min(socLimitA, voltageLimitA) ? 'rating' : voltageLimitA <= socLimitA ? 'voltage' : 'soc';
  return { socLimitA, voltageLimitA, currentA, binding };
}
