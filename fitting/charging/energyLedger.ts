import type { ChargeController } from './chargeController.ts';
import { QUADRATURE } from './exponentialWeights.ts';
import { NO_POWER, type PowerFlow, powerFlow } from './powerFlow.ts';
import type { StackState } from './stackState.ts';

/** Where the energy of a charge went; Wh, and the two balances as parts of the whole. */
export interface ChargeEnergy {
  readonly fromSourceWh: number;
  readonly intoStackWh: number;
  readonly storedWh: number;
  readonly cableLossWh: number;
  readonly converterLossWh: number;
  readonly stackResistanceLossWh: number;
  readonly cellLossWh: number;
  readonly bypassLossWh: number;
  readonly reversibleHeatWh: number;
  readonly efficiency: number | null;
  readonly balanceErrorRelative: number | null;
  readonly thermalBalanceErrorRelative: number | null;
}

const JOULE_PER_WH = 3600;

/**
 * Sums energies step by step with the Lobatto rule of the nodes. The stored energy of a cell whose OCV does not depend on
 * temperature is taken from the integral of its OCV curve over SOC instead, which makes the balance a check on the
 * solution: input measured over time against storage measured over charge.
 */
export class EnergyLedger {
  private readonly state: StackState;
  private readonly flow: PowerFlow = { ...NO_POWER };
  private sourceJ = 0;
  private stackJ = 0;
  private storedJ = 0;
  private cableJ = 0;
  private converterJ = 0;
  private stackResistanceJ = 0;
  private cellLossJ = 0;
  private bypassJ = 0;
  private reversibleJ = 0;
  private absoluteHeatJ = 0;
  private thermalErrorJ = 0;
  readonly bypassAs: Float64Array;

  constructor(state: StackState) {
    this.state = state;
    this.bypassAs = new Float64Array(state.cells.length);
  }

  /** Adds the step of `h` seconds whose nodes are filled; call before the state moves on. */
  add(h: number, controller: ChargeController): void {
    const { state, flow } = this;
    for (let a = 0; a < 4; a++) {
      const w = h * QUADRATURE[a];
      powerFlow(state, controller, a, flow);
      this.stackJ += w * state.stackA[a] * state.stackV[a];
      this.sourceJ += w * flow.sourceW;
      this.cableJ += w * flow.cableLossW;
      this.converterJ += w * flow.converterLossW;
      this.stackResistanceJ += w * flow.stackResistanceLossW;
      this.cellLossJ += w * flow.cellLossW;
      this.bypassJ += w * flow.bypassLossW;
      this.reversibleJ += w * flow.reversibleHeatW;
    }
    for (let k = 0; k < state.cells.length; k++) this.addCell(k, h);
  }

  private addCell(k: number, h: number): void {
    const { state } = this;
    const at = 4 * k;
    let stored = 0;
    let heat = 0;
    let excess = 0;
    for (let a = 0; a < 4; a++) {
      const w = h * QUADRATURE[a];
      const current = state.nodeCurrentA[at + a];
      const past = state.stackA[a] - current;
      stored += w * current * state.nodeOcvV[at + a];
      this.absoluteHeatJ += w * Math.abs(state.nodeHeatW[at + a]);
      this.bypassAs[k] += w * past;
      heat += w * state.nodeHeatW[at + a];
      excess += w * (state.nodeTemperatureC[at + a] - state.ambientC);
    }
    this.storedJ += this.storedOf(k) ?? stored;
    const thermal = state.cells[k].model.thermal;
    if (thermal === null) return;
    const kept = thermal.heatCapacityJPerK * (state.nodeTemperatureC[at + 3] - state.nodeTemperatureC[at]);
    this.thermalErrorJ += heat - kept - thermal.heatTransferWPerK * excess;
  }

  private storedOf(k: number): number | null {
    const { state } = this;
    const cell = state.cells[k];
    if (cell.ocv.dependsOnTemperature) return null;
    const [from, to] = [state.nodeSoc[4 * k], state.nodeSoc[4 * k + 3]];
    const t = state.temperatureC[k];
    const area = cell.ocv.integral(from, to, state.socStretch[k], t, state.temperatureStretch[k]);
    return area / cell.socPerAs;
  }

  /** The sums so far. */
  result(): ChargeEnergy {
    const { stackJ: intoStackJ, sourceJ } = this;
    const lost = this.cableJ + this.converterJ + this.stackResistanceJ + this.cellLossJ + this.bypassJ;
    const rest = sourceJ - lost - this.storedJ;
    return {
      fromSourceWh: sourceJ / JOULE_PER_WH,
      intoStackWh: intoStackJ / JOULE_PER_WH,
      storedWh: this.storedJ / JOULE_PER_WH,
      cableLossWh: this.cableJ / JOULE_PER_WH,
      converterLossWh: this.converterJ / JOULE_PER_WH,
      stackResistanceLossWh: this.stackResistanceJ / JOULE_PER_WH,
      cellLossWh: this.cellLossJ / JOULE_PER_WH,
      bypassLossWh: this.bypassJ / JOULE_PER_WH,
      reversibleHeatWh: this.reversibleJ / JOULE_PER_WH,
      efficiency: sourceJ > 0 ? this.storedJ / sourceJ : null,
      balanceErrorRelative: sourceJ > 0 ? rest / sourceJ : null,
      thermalBalanceErrorRelative: this.absoluteHeatJ > 0 ? this.thermalErrorJ / this.absoluteHeatJ : null,
    };
  }
}
