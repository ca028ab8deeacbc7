import { ZERO_CELSIUS_K } from '../numeric/index.ts';

/** The gas constant as the papers use it, J/(mol K). */
const PUBLISHED_GAS_CONSTANT = 8.314;

/** Pre-exponential factors by rate in C; they do not rise or fall steadily with it. */
const WANG_FACTORS: ReadonlyMap<number, number> = new Map([
  [0.5, 31630],
  [2, 21681],
  [6, 12934],
  [10, 15512],
]);

/**
 * Capacity loss by cycling of a lithium iron phosphate cell of 2.2 Ah, a fraction: B exp[−(31700 − 370.3 C)/(R T)]
 * Ah^0.55 %. J. Wang et al., J. Power Sources 196 (2011) 3942, doi:10.1016/j.jpowsour.2010.11.134.
 *
 * @param cRate one of 0.5, 2, 6, 10: the law has no factor for another
 * @param throughputAh charge taken out of the cell of 2.2 Ah
 * @throws RangeError for another rate
 */
export function wangLoss(cRate: number, temperatureC: number, throughputAh: number): number {
  const factor = WANG_FACTORS.get(cRate);
  if (factor === undefined)
    throw new RangeError(`The law knows the rates ${[...WANG_FACTORS.keys()].join(', ')} C, not ${cRate} C`);
  const energy = 31_700 - 370.3 * cRate;
  const kelvin = temperatureC + ZERO_CELSIUS_K;
  return (factor * Math.exp(-energy / (PUBLISHED_GAS_CONSTANT * kelvin)) * throughputAh ** 0.55) / 100;
}

/** What the law of Schmalstieg et al. asks for. */
export interface SchmalstiegConditions {
  readonly temperatureC: number;
  /** Voltage the cell is stored at, V. */
  readonly storageVoltageV: number;
  /** Quadratic mean of the voltage while it is cycled, V. */
  readonly cyclingVoltageV: number;
  /** 0…1. */
  readonly depthOfDischarge: number;
}

/**
 * Capacity loss and resistance growth, fractions of the first value, of an NMC cell (18650, 2.05 Ah) by time and throughput:
 * 1 − C = α_C t^0.75 + β_C √Q, R − 1 = α_R t^0.75 + β_R Q. J. Schmalstieg et al., J. Power Sources 257 (2014) 325,
 * doi:10.1016/j.jpowsour.2014.02.012.
 *
 * @param days of life
 * @param throughputAh charge through the cell of 2.05 Ah
 */
export function schmalstiegAgeing(
  conditions: SchmalstiegConditions,
  days: number,
  throughputAh: number,
): { readonly capacityLoss: number; readonly resistanceGrowth: number } {
  const { temperatureC, storageVoltageV: v, cyclingVoltageV, depthOfDischarge } = conditions;
  const kelvin = temperatureC + ZERO_CELSIUS_K;
  const alphaCapacity = (7.543 * v - 23.75) * 1e6 * Math.exp(-6976 / kelvin);
  const alphaResistance = (5.27 * v - 16.32) * 1e5 * Math.exp(-5986 / kelvin);
  const betaCapacity = 7.348e-3 * (cyclingVoltageV - 3.667) ** 2 + 7.6e-4 + 4.081e-3 * depthOfDischarge;
  const betaResistance = Math.max(
    2.153e-4 * (cyclingVoltageV - 3.725) ** 2 - 1.521e-5 + 2.798e-4 * depthOfDischarge,
    1.5e-5,
  );
  return {
    capacityLoss: alphaCapacity * days ** 0.75 + betaCapacity * Math.sqrt(throughputAh),
    resistanceGrowth: alphaResistance * days ** 0.75 + betaResistance * throughputAh,
  };
}
