import { type Binding, type EndReason, type LimitName, type MetLimit, winsTie } from './chargeBinding.ts';
import type { BypassModel, ChargeSetup } from './chargeSetup.ts';
import type { ControlLaw } from './controlLaw.ts';
import type { StackState } from './stackState.ts';
import {
  type ConverterMode,
  currentCaps,
  downToStep,
  highestVoltage,
  type SupplyLaw,
  supplyLaws,
} from './supply.ts';
import { type AxisZone, fillAxis, zoneAt, zoneExits } from './temperatureZones.ts';

/**
 * The discrete side of a charge: phase, stage, temperature zone of each cell, bypasses, converter mode. The charger's
 * rule is the same always: of all currents that the limits allow at this moment, the smallest flows.
 */
export class ChargeController {
  readonly setup: ChargeSetup;
  phase: 'precharge' | 'charge' | 'rest';
  stage = 0;
  mode: ConverterMode = 'none';
  end: EndReason | null = null;
  binding: Binding;
  /** Current command: the smallest of the limits that are plain currents. */
  command: Binding;
  /** Laws of the supply that depend on the stack voltage, in the present mode. */
  supplyLaws: readonly SupplyLaw[] = [];
  readonly axis: readonly AxisZone[] | null;
  readonly zone: Int32Array;
  readonly zoneUpC: Float64Array;
  readonly zoneDownC: Float64Array;
  readonly bypassOn: boolean[];
  /** Voltage limit of each cell in its present zone. */
  readonly limitV: Float64Array;
  readonly minTemperatureC: number;
  readonly maxTemperatureC: number;
  private steppedCapA = Number.POSITIVE_INFINITY;
  private steppedCell = 0;
  private regulatorToTheEnd = false;
  private readonly voltageLaws: ControlLaw[];
  private readonly stackLaw: ControlLaw;
  private readonly state: StackState;

  constructor(setup: ChargeSetup, state: StackState) {
    const n = setup.cells.length;
    this.setup = setup;
    this.state = state;
    this.phase = setup.precharge === null ? 'charge' : 'precharge';
    this.axis = setup.zones === null ? null : fillAxis(setup.zones);
    this.zone = new Int32Array(n);
    this.zoneUpC = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    this.zoneDownC = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    this.bypassOn = setup.cells.map(() => false);
    this.limitV = Float64Array.from(setup.cells, (cell) => cell.voltageLimitV);
    this.minTemperatureC = Math.max(...setup.cells.map((c) => c.minTemperatureC ?? Number.NEGATIVE_INFINITY));
    this.maxTemperatureC = Math.min(...setup.cells.map((c) => c.maxTemperatureC ?? Number.POSITIVE_INFINITY));
    this.voltageLaws = setup.cells.map((_, k) => this.cellLaw(k));
    const ones = new Float64Array(n).fill(1);
    const targetV = setup.stackVoltageLimitV;
    this.stackLaw = { kind: 'voltage', weights: ones, seriesOhm: 0, targetV, efficiency: null };
    const idle: Binding = { law: { kind: 'current', currentA: 0 }, limit: 'rest', cell: null };
    this.binding = idle;
    this.command = idle;
    for (let k = 0; k < n; k++)
      this.enterZone(k, this.axis === null ? 0 : zoneAt(this.axis, state.temperatureC[k]));
    this.checkWindow();
  }

  /** Decides from the present state what binds; `met` is the limit just met, which wins where two allow the same current. */
  choose(met: MetLimit | null): void {
    const { state } = this;
    this.applyBypasses();
    state.readParameters();
    if (this.phase === 'rest') {
      this.binding = { law: { kind: 'current', currentA: 0 }, limit: 'rest', cell: null };
      this.command = this.binding;
      return;
    }
    this.chooseMode();
    this.command = this.currentCommand();
    let best = this.command;
    let least = state.currentUnder(best.law);
    for (const candidate of this.voltageBindings()) {
      const current = state.currentUnder(candidate.law);
      const tie = Math.abs(current - least) <= 1e-7 * Math.abs(least) + 1e-12;
      if (tie ? winsTie(candidate, best, met) : current < least) {
        best = candidate;
        least = Math.min(current, least);
      }
    }
    this.binding = best;
    this.endOrPause(least);
  }

  /** Takes up the zone of a cell after its temperature has crossed an edge upwards (+1) or downwards (−1). */
  changeZone(k: number, direction: 1 | -1): void {
    this.enterZone(k, this.zone[k] + direction);
  }

  /** The next stage, or the main phase after a precharge. */
  advance(): void {
    if (this.phase === 'precharge') this.phase = 'charge';
    else this.stage += 1;
  }

  /** In a stepped taper: one current step of the supply less, because cell `k` has met its limit. */
  stepDown(k: number): void {
    const { supply } = this.setup;
    const step = (supply?.source.currentStepA ?? 0) * (supply?.ratioStage?.ratio ?? 1);
    const present = this.binding.law.kind === 'current' ? this.binding.law.currentA : this.state.stackA[0];
    // At least one step less, and no more than the cell takes at its limit now (a zone may have lowered that at once).
    const atLimit = Math.max(this.state.currentUnder(this.voltageLaws[k]), 0);
    this.steppedCapA = downToStep(Math.min(present - step / 2, atLimit), step);
    this.steppedCell = k;
    if (this.steppedCapA < this.setup.endCurrentA) this.end = 'end-current';
  }

  /** The regulator takes over for the rest of the charge. */
  keepRegulator(): void {
    this.regulatorToTheEnd = true;
  }

  get inRegulatorToTheEnd(): boolean {
    return this.regulatorToTheEnd;
  }

  /** True while a law of the supply fixes the current. */
  get holdsSupplyLaw(): boolean {
    return this.binding.limit === 'source-voltage' || this.binding.limit === 'source-power';
  }

  /**
   * Net current into the cells at or below which the charge is over although the charger's current is not at the end
   * current, because bypasses at every cell hold it up; null where that is not so. It is the end current where every bypass
   * takes at least as much (a smaller one lets the charger's own current fall to it), else zero at a plain current: nothing is
   * charged any more. Before the last stage only a held voltage counts, since a later stage may ask for more; a current that a
   * temperature zone holds down is no end.
   */
  get netEndCurrentA(): number | null {
    const { bypass } = this.state;
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < bypass.length; k++) {
      least = Math.min(least, bypass[k].drawA + bypass[k].conductanceS * this.limitV[k]);
      if (least === 0) return null;
    }
    const { endCurrentA, stages } = this.setup;
    const { law, limit } = this.binding;
    if (this.phase !== 'charge' || limit === 'zone-current') return null;
    if (law.kind === 'current' && this.stage < stages.length - 1) return null;
    if (least >= endCurrentA) return endCurrentA;
    return law.kind === 'current' ? 0 : null;
  }

  get stepped(): boolean {
    return this.setup.taper === 'stepped';
  }

  /** Cell limits that hold the current (not in a stepped taper, where meeting one lowers the current command). */
  private voltageBindings(): Binding[] {
    const bindings: Binding[] = [];
    if (this.setup.watch === 'stack-only')
      bindings.push({ law: this.stackLaw, limit: 'stack-voltage', cell: null });
    else if (!this.stepped) {
      for (let k = 0; k < this.voltageLaws.length; k++)
        bindings.push({ law: this.voltageLaws[k], limit: this.voltageLimitName(k), cell: k });
    }
    for (const { law, limit } of this.supplyLaws) bindings.push({ law, limit, cell: null });
    return bindings;
  }

  voltageLimitName(k: number): 'cell-voltage' | 'zone-voltage' {
    return this.limitV[k] < this.setup.cells[k].voltageLimitV ? 'zone-voltage' : 'cell-voltage';
  }

  private currentCommand(): Binding {
    const { setup, axis } = this;
    let limit: LimitName = this.phase === 'precharge' ? 'precharge-current' : 'stage-current';
    let cell: number | null = null;
    let currentA =
      this.phase === 'precharge' && setup.precharge !== null
        ? setup.precharge.currentA
        : setup.stages[Math.min(this.stage, setup.stages.length - 1)].currentA;
    const lower = (name: LimitName, value: number, k: number | null) => {
      if (value >= currentA) return;
      limit = name;
      currentA = value;
      cell = k;
    };
    setup.cells.forEach((charged, k) => {
      lower('cell-rating', charged.ratedCurrentA, k);
      const zone = axis?.[this.zone[k]];
      if (zone !== undefined && !zone.charge) lower('zone-no-charge', 0, k);
      else if (zone?.maxCurrentA != null) lower('zone-current', zone.maxCurrentA, k);
    });
    if (setup.supply !== null)
      for (const cap of currentCaps(setup.supply, this.mode)) lower(cap.limit, cap.currentA, null);
    if (this.mode === 'ratio' && setup.supply !== null) {
      const step = (setup.supply.source.currentStepA ?? 0) * (setup.supply.ratioStage?.ratio ?? 1);
      // What is below one step is left as it is: a supply that cannot go so low needs the regulator.
      if (step > 0 && currentA >= step) currentA = downToStep(currentA, step);
    }
    lower('cell-voltage', this.steppedCapA, this.steppedCell);
    return { law: { kind: 'current', currentA }, limit, cell };
  }

  private chooseMode(): void {
    const { supply } = this.setup;
    if (supply === null) return;
    const before = this.mode;
    this.mode = this.modeFor(supply.ratioStage?.minStackVoltageV ?? 0);
    if (this.mode !== before) this.supplyLaws = supplyLaws(supply, this.mode, this.setup.cells.length);
  }

  private modeFor(minStackV: number): ConverterMode {
    const supply = this.setup.supply;
    if (supply === null) return 'none';
    if (supply.regulator === null) return 'ratio';
    if (supply.ratioStage === null || this.phase === 'precharge' || this.regulatorToTheEnd)
      return 'regulator';
    if (this.mode === 'ratio') return 'ratio';
    const open = this.state.offsetV.reduce((sum, value) => sum + value, 0);
    return open + 1e-9 >= minStackV || this.state.stackV[3] + 1e-9 >= minStackV ? 'ratio' : 'regulator';
  }

  private endOrPause(currentA: number): void {
    const { binding, setup } = this;
    const least = this.netEndCurrentA;
    // A pause (no current at all, for the temperature) is not the end of the charge.
    if (least !== null && currentA > setup.endCurrentA) {
      const net = this.state.bypass.map(({ drawA, conductanceS }, k) => {
        const voltageV = this.state.offsetV[k] + this.state.slopeOhm[k] * currentA;
        return currentA - drawA - conductanceS * voltageV;
      });
      if (Math.max(...net) <= least) this.end = 'bypass-exceeds-end-current';
    }
    if (binding.law.kind === 'current') return;
    const limit = binding.limit;
    const atVoltage = limit === 'cell-voltage' || limit === 'zone-voltage' || limit === 'stack-voltage';
    if (currentA <= setup.endCurrentA * (1 + 1e-12) && this.phase === 'charge')
      this.end = atVoltage ? 'end-current' : 'bus-voltage-too-low';
    else if (currentA <= 0) this.end = atVoltage ? 'end-current' : 'bus-voltage-too-low';
  }

  private applyBypasses(): void {
    const resting = this.phase === 'rest';
    this.setup.cells.forEach((charged, k) => {
      const active = this.bypassOn[k] && charged.bypass !== null && (!resting || charged.bypass.atRest);
      const model: BypassModel | null = active ? charged.bypass : null;
      this.state.bypass[k].drawA = model?.kind === 'current' ? model.value : 0;
      this.state.bypass[k].conductanceS = model?.kind === 'resistor' ? 1 / model.value : 0;
    });
  }

  private enterZone(k: number, index: number): void {
    if (this.axis === null) return;
    this.zone[k] = index;
    const { upC, downC } = zoneExits(this.axis, index, this.setup.zoneHysteresisK);
    this.zoneUpC[k] = upC;
    this.zoneDownC[k] = downC;
    const general = this.setup.cells[k].voltageLimitV;
    this.limitV[k] = Math.min(general, this.axis[index].maxVoltageV ?? general);
    this.voltageLaws[k] = this.cellLaw(k);
  }

  private cellLaw(k: number): ControlLaw {
    const weights = new Float64Array(this.setup.cells.length);
    weights[k] = 1;
    return { kind: 'voltage', weights, seriesOhm: 0, targetV: this.limitV[k], efficiency: null };
  }

  /** Outside the window nothing is charged at all: not a small current, none. */
  private checkWindow(): void {
    const { state, axis } = this;
    for (let k = 0; k < state.cells.length; k++) {
      const t = state.temperatureC[k];
      const outside = t < this.minTemperatureC || t > this.maxTemperatureC;
      if (outside || (axis !== null && !axis[this.zone[k]].charge)) this.end = 'outside-temperature-window';
    }
    const supply = this.setup.supply;
    if (supply === null || supply.regulator !== null) return;
    const open = this.openStackVoltage() * (supply.ratioStage?.ratio ?? 1);
    const highest = highestVoltage(supply.source);
    if (open >= highest)
      throw new RangeError(
        `bus voltage too low: source.maxVoltageV ${supply.source.maxVoltageV} gives at most ${highest} V, and the stack needs more than ` +
          `${open.toFixed(3)} V at the converter's input (ratio ${supply.ratioStage?.ratio ?? 1})`,
      );
  }

  private openStackVoltage(): number {
    this.state.readParameters();
    return this.state.offsetV.reduce((sum, value) => sum + value, 0);
  }
}
