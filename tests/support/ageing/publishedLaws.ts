/** Gas constant in J/(mol K) as used by Wang et al.; with 8.314462618 the first row of their table moves by 0.07 %. */
const GAS_CONSTANT_WANG = 8.314;

/** Pre-factors of Wang et al. by charge and discharge rate in C. They are not monotonic, and are not to be "corrected". */
const WANG_B: readonly (readonly [number, number])[] = [
  [0.5, 31630],
  [2, 21681],
  [6, 12934],
  [10, 15512],
];
const WANG_EXPONENT = 0.55;

/** A condition of cycling for {@link wangLossPercent}. */
export interface WangCondition {
  /** Rate in C; 0.5 to 10. Between the published rates 0.5, 2, 6 and 10 ln B is interpolated. */
  readonly rateC: number;
  readonly temperatureK: number;
}

/**
 * Factor k of Q_loss[%] = k · Ah^0.55 for a lithium iron phosphate / graphite cell of 2.2 Ah: B · exp(−(31700 − 370.3·C)/(R T)).
 *
 * Source: J. Wang et al., J. Power Sources 196 (2011) 3942, doi:10.1016/j.jpowsour.2010.11.134, R = 8.314.
 *
 * @throws RangeError for a rate outside 0.5 … 10 C (the law is not to be continued) or a temperature that is not positive
 */
export function wangFactor(condition: WangCondition): number {
  const { rateC, temperatureK } = condition;
  if (!(rateC >= 0.5 && rateC <= 10)) {
    throw new RangeError(`rateC must lie between 0.5 and 10, the rates of the published law, got ${rateC}`);
  }
  if (!(temperatureK > 0)) throw new RangeError(`temperatureK must be positive, got ${temperatureK}`);
  let k = 1;
  while (WANG_B[k][0] < rateC) k++;
  const [lowRate, lowB] = WANG_B[k - 1];
  const [highRate, highB] = WANG_B[k];
  const share = (rateC - lowRate) / (highRate - lowRate);
  const b = Math.exp(Math.log(lowB) + share * Math.log(highB / lowB));
  return b * Math.exp(-(31700 - 370.3 * rateC) / (GAS_CONSTANT_WANG * temperatureK));
}

/** Capacity loss in % after `throughputAh` (discharged Ah), see {@link wangFactor}. */
export function wangLossPercent(condition: WangCondition, throughputAh: number): number {
  if (!(throughputAh >= 0)) throw new RangeError(`throughputAh must not be negative, got ${throughputAh}`);
  return wangFactor(condition) * throughputAh ** WANG_EXPONENT;
}

/** Throughput in Ah at which the loss is `lossPercent`. */
export function wangThroughputAh(condition: WangCondition, lossPercent: number): number {
  if (!(lossPercent >= 0)) throw new RangeError(`lossPercent must not be negative, got ${lossPercent}`);
  return (lossPercent / wangFactor(condition)) ** (1 / WANG_EXPONENT);
}

/** The fit of the same source to the C/2 data alone: 30330 · exp(−31500/(R T)) · Ah^0.552, loss in %. */
export function wangHalfRateLossPercent(temperatureK: number, throughputAh: number): number {
  return 30330 * Math.exp(-31500 / (GAS_CONSTANT_WANG * temperatureK)) * throughputAh ** 0.552;
}

/** A condition of storage and cycling for {@link schmalstiegRates}. */
export interface SchmalstiegCondition {
  /** Storage voltage in V (or mean voltage over the day). */
  readonly voltageV: number;
  readonly temperatureK: number;
  /** Quadratic mean of the voltage while cycling, in V. */
  readonly meanVoltageV: number;
  /** Depth of the cycles, 0…1. */
  readonly cycleDepth: number;
}

/** Rates of the law: C_rel = 1 − alphaCapacity·t^0.75 − betaCapacity·√Q, R_rel = 1 + alphaResistance·t^0.75 + betaResistance·Q. */
export interface SchmalstiegRates {
  readonly alphaCapacity: number;
  readonly alphaResistance: number;
  readonly betaCapacity: number;
  readonly betaResistance: number;
}

/**
 * Ageing rates of a nickel manganese cobalt oxide / graphite cell of 2.05 Ah, t in days, Q in Ah of throughput.
 *
 * Source: J. Schmalstieg et al., J. Power Sources 257 (2014) 325, doi:10.1016/j.jpowsour.2014.02.012.
 */
export function schmalstiegRates(condition: SchmalstiegCondition): SchmalstiegRates {
  const { voltageV, temperatureK, meanVoltageV, cycleDepth } = condition;
  if (!(temperatureK > 0)) throw new RangeError(`temperatureK must be positive, got ${temperatureK}`);
  if (!(cycleDepth >= 0 && cycleDepth <= 1))
    throw new RangeError(`cycleDepth must lie between 0 and 1, got ${cycleDepth}`);
  const betaResistance = 2.153e-4 * (meanVoltageV - 3.725) ** 2 - 1.521e-5 + 2.798e-4 * cycleDepth;
  return {
    alphaCapacity: (7.543 * voltageV - 23.75) * 1e6 * Math.exp(-6976 / temperatureK),
    alphaResistance: (5.27 * voltageV - 16.32) * 1e5 * Math.exp(-5986 / temperatureK),
    betaCapacity: 7.348e-3 * (meanVoltageV - 3.667) ** 2 + 7.6e-4 + 4.081e-3 * cycleDepth,
    betaResistance: Math.max(betaResistance, 1.5e-5),
  };
}

/** Capacity and resistance relative to new after `days` and `throughputAh` at one condition. */
export function schmalstiegState(
  condition: SchmalstiegCondition,
  days: number,
  throughputAh: number,
): { capacity: number; resistance: number } {
  const rates = schmalstiegRates(condition);
  return {
    capacity: 1 - rates.alphaCapacity * days ** 0.75 - rates.betaCapacity * Math.sqrt(throughputAh),
    resistance: 1 + rates.alphaResistance * days ** 0.75 + rates.betaResistance * throughputAh,
  };
}
