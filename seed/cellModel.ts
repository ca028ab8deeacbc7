import { type CellTruth, openCircuitV } from './scenario.ts';

/**
 * A cell that can be cycled: open-circuit voltage, R0 and two RC branches, each advanced exactly over an interval of
 * constant current. Written apart from the product's own simulation, so that neither hides a mistake of the other.
 */
export class SimulatedCell {
  soc: number;
  private branch1V = 0;
  private branch2V = 0;
  private readonly truth: CellTruth;
  /** Resistance at the present temperature over the resistance at 25 °C. */
  private readonly factor: number;

  constructor(truth: CellTruth, soc: number, temperatureC = 25) {
    this.truth = truth;
    this.soc = soc;
    // Arrhenius with 25 kJ/mol: within the band that is usual for pulse resistances.
    this.factor = Math.exp((25_000 / 8.314462618) * (1 / (temperatureC + 273.15) - 1 / 298.15));
  }

  /** Terminal voltage while `currentA` flows (positive on charge), without any fixture. */
  voltageV(currentA: number): number {
    // Resistance rises towards empty, as it does in real cells.
    const rise = 1 + 0.35 * Math.exp(-14 * Math.max(0, this.soc));
    return (
      openCircuitV(this.soc) +
      currentA * this.truth.r0Ohm * this.factor * rise +
      this.branch1V +
      this.branch2V
    );
  }

  /** Lets `currentA` flow for `durationS`. */
  advance(currentA: number, durationS: number): void {
    const { r1Ohm, tau1S, r2Ohm, tau2S, capacityAh } = this.truth;
    const decay1 = Math.exp(-durationS / tau1S);
    const decay2 = Math.exp(-durationS / tau2S);
    this.branch1V = this.branch1V * decay1 + currentA * r1Ohm * this.factor * (1 - decay1);
    this.branch2V = this.branch2V * decay2 + currentA * r2Ohm * this.factor * (1 - decay2);
    this.soc += (currentA * durationS) / (3600 * capacityAh);
  }
}
