/** A steady level of discharge or charge and the voltage read on it. */
export interface CurrentLevel {
  readonly currentA: number;
  readonly voltageV: number;
  /** Standard uncertainty of the voltage. */
  readonly standardUncertaintyV?: number;
}

export interface TwoLevelResult {
  readonly valueOhm: number | null;
  readonly standardUncertaintyOhm: number | null;
  readonly reason: 'no-step-in-current' | 'wrong-sign' | null;
}

/**
 * DC resistance by the two-level method of IEC 61960-3 (clause 7.7; number of the clause from memory): R =
 * (U₁ − U₂)/(I₂ − I₁), U₁ read after 10 s at 0.2 I_t, U₂ after 1 s at 1.0 I_t. The sign that currents are
 * counted with does not matter.
 */
export function twoLevelResistance(first: CurrentLevel, second: CurrentLevel): TwoLevelResult {
  const change = second.currentA - first.currentA;
  const none = (reason: 'no-step-in-current' | 'wrong-sign'): TwoLevelResult => ({
    valueOhm: null,
    standardUncertaintyOhm: null,
    reason,
  });
  if (change === 0) return none('no-step-in-current');
  const larger = Math.abs(second.currentA) > Math.abs(first.currentA) ? second : first;
  const smaller = larger === second ? first : second;
  const discharge = smaller.voltageV >= larger.voltageV;
  const charge = larger.currentA > 0 && smaller.currentA >= 0;
  if (!discharge && !charge) return none('wrong-sign');
  return {
    valueOhm: Math.abs((first.voltageV - second.voltageV) / change),
    standardUncertaintyOhm:
      first.standardUncertaintyV === undefined || second.standardUncertaintyV === undefined
        ? null
        : Math.hypot(first.standardUncertaintyV, second.standardUncertaintyV) / Math.abs(change),
    reason: null,
  };
}
