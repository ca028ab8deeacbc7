import type { ChargeController } from './chargeController.ts';
import type { StackState } from './stackState.ts';
import type { BusValues } from './supplyModel.ts';

/** Where the power goes at one moment, W. `sourceW` is the sum of all others but `reversibleHeatW`, which is not electrical power. */
export interface PowerFlow {
  sourceW: number;
  cableLossW: number;
  converterLossW: number;
  stackResistanceLossW: number;
  cellLossW: number;
  bypassLossW: number;
  storedW: number;
  reversibleHeatW: number;
}

export const NO_POWER: PowerFlow = {
  sourceW: 0,
  cableLossW: 0,
  converterLossW: 0,
  stackResistanceLossW: 0,
  cellLossW: 0,
  bypassLossW: 0,
  storedW: 0,
  reversibleHeatW: 0,
};

const bus: BusValues = { sourceV: 0, converterV: 0, currentA: 0 };

/**
 * Writes the power flow at node `a` of the present step into `out`. Without a supply the source is the output of the charger.
 * A resting supply takes nothing.
 */
export function powerFlow(state: StackState, controller: ChargeController, a: number, out: PowerFlow): void {
  const current = state.stackA[a];
  const { toSenseOhm, beyondSenseOhm } = controller.setup.stackResistance;
  out.stackResistanceLossW = (toSenseOhm + beyondSenseOhm) * current * current;
  const outputW = current * state.stackV[a] + out.stackResistanceLossW;
  out.sourceW = outputW;
  out.cableLossW = 0;
  out.converterLossW = 0;
  if (controller.supply !== null && current > 0) {
    controller.supply.bus(controller.mode, current, state.stackV[a], bus);
    out.sourceW = bus.sourceV * bus.currentA;
    out.cableLossW = (bus.sourceV - bus.converterV) * bus.currentA;
    out.converterLossW = bus.converterV * bus.currentA - outputW;
  }
  out.cellLossW = 0;
  out.bypassLossW = 0;
  out.storedW = 0;
  out.reversibleHeatW = 0;
  for (let k = 0; k < state.cells.length; k++) {
    const at = 4 * k + a;
    const own = state.nodeCurrentA[at];
    out.storedW += own * state.nodeOcvV[at];
    out.cellLossW += own * (state.nodeVoltageV[at] - state.nodeOcvV[at]);
    out.bypassLossW += (current - own) * state.nodeVoltageV[at];
    out.reversibleHeatW += state.nodeReversibleW[at];
  }
}
