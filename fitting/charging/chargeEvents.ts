import type { ChargeController } from './chargeController.ts';
import { firstCrossing } from './crossing.ts';
import type { StackState } from './stackState.ts';
import type { BusValues, SupplyLaw } from './supplyModel.ts';

export type EventKind =
  | 'soc-grid'
  | 'temperature-grid'
  | 'stage-end'
  | 'precharge-end'
  | 'cell-voltage'
  | 'stack-voltage'
  | 'supply-law'
  | 'command'
  | 'end-current'
  | 'bypass-exceeds-end-current'
  | 'regulator'
  | 'ratio'
  | 'headroom'
  | 'headroom-above'
  | 'bus-too-high'
  | 'zone'
  | 'too-hot'
  | 'too-cold'
  | 'bypass-on'
  | 'bypass-off';

/** A switch found in a step: where it lies, which function of the nodes met which threshold, and what it means. */
export interface FoundEvent {
  kind: EventKind;
  cell: number;
  direction: 1 | -1;
  fraction: number;
  values: Float64Array;
  at: number;
  threshold: number;
  epsilon: number;
}

const VOLT = 1e-10;
const AMPERE = 1e-10;
const KELVIN_STEP = 1e-9;
const SOC_STEP = 1e-13;
/** A cell that comes to rest at a point of its SOC grid may lie this far in the wrong stretch: a nanovolt or so of OCV. */
const SOC_GRID = 1e-9;

/** Looks through the functions that can switch something in the present state and finds the first to do so in a step. */
export class ChargeEvents {
  private readonly state: StackState;
  private readonly controller: ChargeController;
  private readonly lowestV = new Float64Array(4);
  private readonly largestA = new Float64Array(4);
  private readonly residual: Float64Array[] = Array.from({ length: 3 }, () => new Float64Array(4));
  private readonly sensedV: Float64Array;
  private readonly sensedStackV = new Float64Array(4);
  private readonly outputV = new Float64Array(4);
  private readonly busV = new Float64Array(4);
  private readonly bus: BusValues = { sourceV: 0, converterV: 0, currentA: 0 };
  private found: FoundEvent | null = null;

  constructor(state: StackState, controller: ChargeController) {
    this.state = state;
    this.controller = controller;
    this.sensedV = new Float64Array(4 * state.cells.length);
  }

  /** The first event of the step just tried, or null. */
  first(): FoundEvent | null {
    this.found = null;
    this.fillSensed();
    this.grids();
    this.bypasses();
    if (this.controller.phase !== 'rest') {
      this.limits();
      this.stages();
      this.temperatures();
      this.converter();
    }
    return this.found;
  }

  /** How far sign × (value − threshold) is above zero at the end of the step just tried, and its slope per step. */
  residualAtEnd(event: FoundEvent): number {
    this.refresh(event);
    return event.direction * (event.values[event.at + 3] - event.threshold);
  }

  private refresh(event: FoundEvent): void {
    this.fillSensed();
    if (event.kind === 'precharge-end') this.fillLowest();
    if (event.kind === 'bus-too-high') this.fillBus();
    if (event.kind === 'bypass-exceeds-end-current') this.fillLargestCurrent();
    if (event.kind === 'supply-law') this.fillResidual(event.cell, this.controller.supplyLaws[event.cell]);
  }

  private consider(
    kind: EventKind,
    cell: number,
    values: Float64Array,
    at: number,
    threshold: number,
    direction: 1 | -1,
    epsilon: number,
  ): void {
    // Quick way out: nothing above the threshold at any node.
    if (direction === 1) {
      const t = threshold + epsilon;
      if (values[at] <= t && values[at + 1] <= t && values[at + 2] <= t && values[at + 3] <= t) return;
    } else {
      const t = threshold - epsilon;
      if (values[at] >= t && values[at + 1] >= t && values[at + 2] >= t && values[at + 3] >= t) return;
    }
    const fraction = firstCrossing(values, at, threshold, direction, epsilon);
    if (fraction < 0 || (this.found !== null && this.found.fraction <= fraction)) return;
    this.found = { kind, cell, direction, fraction, values, at, threshold, epsilon };
  }

  private grids(): void {
    const { state } = this;
    for (let k = 0; k < state.cells.length; k++) {
      const { soc, temperatureC } = state.cells[k].model;
      const s = state.socStretch[k];
      if (s + 1 < soc.length) this.consider('soc-grid', k, state.nodeSoc, 4 * k, soc[s + 1], 1, SOC_GRID);
      if (s >= 0) this.consider('soc-grid', k, state.nodeSoc, 4 * k, soc[s], -1, SOC_GRID);
      if (temperatureC.length === 1) continue;
      const t = state.temperatureStretch[k];
      const nodes = state.nodeTemperatureC;
      if (t + 1 < temperatureC.length)
        this.consider('temperature-grid', k, nodes, 4 * k, temperatureC[t + 1], 1, KELVIN_STEP);
      if (t >= 0) this.consider('temperature-grid', k, nodes, 4 * k, temperatureC[t], -1, KELVIN_STEP);
    }
  }

  private bypasses(): void {
    const { state, controller } = this;
    controller.setup.cells.forEach(({ bypass }, k) => {
      if (bypass === null || (controller.phase === 'rest' && !bypass.atRest)) return;
      const nodes = state.nodeVoltageV;
      if (controller.bypassOn[k]) this.consider('bypass-off', k, nodes, 4 * k, bypass.stopVoltageV, -1, VOLT);
      else this.consider('bypass-on', k, nodes, 4 * k, bypass.startVoltageV, 1, VOLT);
    });
  }

  private limits(): void {
    const { state, controller } = this;
    const { binding, setup } = controller;
    if (setup.watch === 'per-cell') {
      for (let k = 0; k < state.cells.length; k++) {
        const held = controller.pausedByVoltage || (binding.cell === k && binding.law.kind === 'voltage');
        if (!held) this.consider('cell-voltage', k, this.sensedV, 4 * k, controller.limitV[k], 1, VOLT);
      }
    } else if (binding.limit !== 'stack-voltage') {
      this.consider('stack-voltage', 0, this.sensedStackV, 0, setup.stackVoltageLimitV, 1, VOLT);
    }
    controller.supplyLaws.forEach((supplyLaw, index) => {
      if (binding.law === supplyLaw.law) return;
      this.fillResidual(index, supplyLaw);
      this.consider('supply-law', index, this.residual[index], 0, 0, 1, VOLT);
    });
    const netEndA = controller.netEndCurrentA;
    if (netEndA !== null) {
      this.fillLargestCurrent();
      this.consider('bypass-exceeds-end-current', 0, this.largestA, 0, netEndA, -1, AMPERE);
    }
    if (binding.law.kind === 'current') return;
    const command = controller.command.law;
    if (command.kind === 'current') this.consider('command', 0, state.stackA, 0, command.currentA, 1, AMPERE);
    this.consider(
      'end-current',
      0,
      state.stackA,
      0,
      controller.phase === 'charge' ? setup.endCurrentA : 0,
      -1,
      AMPERE,
    );
  }

  private stages(): void {
    const { state, controller } = this;
    const { setup } = controller;
    if (controller.phase === 'precharge' && setup.precharge !== null) {
      this.fillLowest();
      this.consider('precharge-end', 0, this.lowestV, 0, setup.precharge.belowCellVoltageV, 1, VOLT);
      return;
    }
    const until = controller.stage < setup.stages.length - 1 ? setup.stages[controller.stage].until : null;
    if (until === null) return;
    for (let k = 0; k < state.cells.length; k++) {
      const at = 4 * k;
      if (until.soc !== null) this.consider('stage-end', k, state.nodeSoc, at, until.soc, 1, SOC_STEP);
      if (until.cellVoltageV !== null)
        this.consider('stage-end', k, this.sensedV, at, until.cellVoltageV, 1, VOLT);
      if (until.temperatureC !== null)
        this.consider('stage-end', k, state.nodeTemperatureC, at, until.temperatureC, 1, KELVIN_STEP);
    }
  }

  private temperatures(): void {
    const { state, controller } = this;
    const nodes = state.nodeTemperatureC;
    for (let k = 0; k < state.cells.length; k++) {
      this.consider('too-hot', k, nodes, 4 * k, controller.maxTemperatureC, 1, KELVIN_STEP);
      this.consider('too-cold', k, nodes, 4 * k, controller.tooColdC, -1, KELVIN_STEP);
      this.consider('zone', k, nodes, 4 * k, controller.zoneUpC[k], 1, KELVIN_STEP);
      this.consider('zone', k, nodes, 4 * k, controller.zoneDownC[k], -1, KELVIN_STEP);
    }
  }

  private converter(): void {
    const { state, controller } = this;
    if (controller.supply === null) return;
    const { ratioStage, regulator } = controller.supply.supply;
    if (controller.mode === 'regulator' && regulator !== null) {
      const { kind, inputVoltageV, headroomV } = regulator;
      if (kind === 'step-down')
        this.consider('headroom', 0, this.outputV, 0, inputVoltageV - headroomV, 1, VOLT);
      if (kind === 'step-up')
        this.consider('headroom-above', 0, this.outputV, 0, inputVoltageV + headroomV, -1, VOLT);
      if (ratioStage !== null && controller.phase === 'charge' && !controller.inRegulatorToTheEnd)
        this.consider('ratio', 0, state.stackV, 0, controller.ratioFromStackV, 1, VOLT);
      return;
    }
    if (regulator !== null && ratioStage !== null) {
      const least = Math.max(ratioStage.minOutputCurrentA, controller.regulatorOfferA);
      if (least > 0) this.consider('regulator', 0, state.stackA, 0, least, -1, AMPERE);
    }
    if (controller.supply.lowestV > 0 && controller.binding.law.kind !== 'current') {
      this.fillBus();
      this.consider('bus-too-high', 0, this.busV, 0, controller.supply.lowestV, -1, VOLT);
    }
  }

  private fillLowest(): void {
    const { state, lowestV } = this;
    for (let a = 0; a < 4; a++) {
      let least = this.sensedV[a];
      for (let k = 1; k < state.cells.length; k++) least = Math.min(least, this.sensedV[4 * k + a]);
      lowestV[a] = least;
    }
  }

  /** The largest current into any cell, net of its bypass. */
  private fillLargestCurrent(): void {
    const { state, largestA } = this;
    for (let a = 0; a < 4; a++) {
      let most = state.nodeCurrentA[a];
      for (let k = 1; k < state.cells.length; k++) most = Math.max(most, state.nodeCurrentA[4 * k + a]);
      largestA[a] = most;
    }
  }

  /** How far a law of the supply is exceeded at each node, in the unit of its target. */
  private fillResidual(index: number, { law }: SupplyLaw): void {
    const { stackA, stackV } = this.state;
    const out = this.residual[index];
    for (let a = 0; a < 4; a++) out[a] = law.value(stackA[a], stackV[a]) - law.target;
  }

  /** Voltages as the charger senses them, and that at its output. */
  private fillSensed(): void {
    const { state, sensedV, sensedStackV, outputV } = this;
    const { toSenseOhm, beyondSenseOhm } = this.controller.setup.stackResistance;
    const share = beyondSenseOhm / state.cells.length;
    for (let a = 0; a < 4; a++) {
      const current = state.stackA[a];
      sensedStackV[a] = state.stackV[a] + beyondSenseOhm * current;
      outputV[a] = sensedStackV[a] + toSenseOhm * current;
      for (let k = 0; k < state.cells.length; k++)
        sensedV[4 * k + a] = state.nodeVoltageV[4 * k + a] + share * current;
    }
  }

  /** Voltage of the source at each node. */
  private fillBus(): void {
    const { state, busV, controller, bus } = this;
    for (let a = 0; a < 4; a++) {
      controller.supply?.bus(controller.mode, state.stackA[a], state.stackV[a], bus);
      busV[a] = bus.sourceV;
    }
  }
}
