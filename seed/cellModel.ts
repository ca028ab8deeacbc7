import { type CellTruth, openCircuitV, scenario } from './scenario.ts';

/** Molar gas constant in J/(mol K). */
const GAS_CONSTANT = 8.314462618;

/** What an element of the invented cell is multiplied by at a temperature: 1 at 25 °C, Arrhenius elsewhere. */
export function temperatureFactor(
  element: keyof typeof scenario.activationJPerMol,
  temperatureC: number,
): number {
  const inverse = 1 / (temperatureC + 273.15) - 1 / 298.15;
  return Math.exp((scenario.activationJPerMol[element] / GAS_CONSTANT) * inverse);
}

/** The elements of a cell as they are at a temperature. */
export function elementsAt(truth: CellTruth, temperatureC: number) {
  return {
    r0Ohm: truth.r0Ohm * temperatureFactor('r0', temperatureC),
    r1Ohm: truth.r1Ohm * temperatureFactor('r1', temperatureC),
    tau1S: truth.tau1S * temperatureFactor('tau1', temperatureC),
    r2Ohm: truth.r2Ohm * temperatureFactor('r2', temperatureC),
    tau2S: truth.tau2S * temperatureFactor('tau2', temperatureC),
  };
}

/** Resistance rises towards empty, as it does in real cells: what R0 is multiplied by. */
export const riseTowardsEmpty = (soc: number): number => 1 + 0.35 * Math.exp(-14 * Math.max(0, soc));

/**
 * A cell that can be cycled: open-circuit voltage, R0 and two RC branches, each advanced exactly over an interval of
 * constant current. Written apart from the product's own simulation, so that neither hides a mistake of the other.
 */
export class SimulatedCell {
  soc: number;
  private branch1V = 0;
  private branch2V = 0;
  private readonly capacityAh: number;
  private readonly temperatureC: number;
  private readonly elements: ReturnType<typeof elementsAt>;

  constructor(truth: CellTruth, soc: number, temperatureC: number = scenario.temperatureC) {
    this.soc = soc;
    this.capacityAh = truth.capacityAh;
    this.temperatureC = temperatureC;
    this.elements = elementsAt(truth, temperatureC);
  }

  /** Terminal voltage while `currentA` flows (positive on charge), without any fixture. */
  voltageV(currentA: number): number {
    return (
      openCircuitV(this.soc, this.temperatureC) +
      currentA * this.elements.r0Ohm * riseTowardsEmpty(this.soc) +
      this.branch1V +
      this.branch2V
    );
  }

  /** Lets `currentA` flow for `durationS`. */
  advance(currentA: number, durationS: number): void {
    const { r1Ohm, tau1S, r2Ohm, tau2S } = this.elements;
    const decay1 = Math.exp(-durationS / tau1S);
    const decay2 = Math.exp(-durationS / tau2S);
    this.branch1V = this.branch1V * decay1 + currentA * r1Ohm * (1 - decay1);
    this.branch2V = this.branch2V * decay2 + currentA * r2Ohm * (1 - decay2);
    this.soc += (currentA * durationS) / (3600 * this.capacityAh);
  }
}
